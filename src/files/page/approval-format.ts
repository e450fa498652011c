/** By this word an approval page and the answers that come out of it are known. */
export const APPROVAL_FORMAT = 'tributary-approval';
