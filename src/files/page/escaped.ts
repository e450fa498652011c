const SIGNS: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };

/** Text as it stands in HTML. */
export const escaped = (text: string): string => text.replace(/[&<>"']/g, (sign) => SIGNS[sign]!);
