/** Format name of approval pages and of saved answers. */
export const APPROVAL_FORMAT = 'tributary-approval';
