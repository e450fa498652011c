const SIDED = /^(l|left|r|right)?\s*(\d+(?:[.,]\d*)?)\s*%?\s*(l|left|r|right)?$/i;

/** A pan of -100 (left) to 100 (right) as it is read: "L 20", "R 15". */
export const panText = (pan: number): string => {
  if (pan === 0) return 'centre';
  if (Math.abs(pan) === 100) return pan < 0 ? 'left' : 'right';
  return `${pan < 0 ? 'L' : 'R'} ${Math.abs(pan)}`;
};

/** A pan as it may be typed beside a plain number: "L20", "20 R", "80 % left"; null: it names no side. */
export const panFrom = (text: string): number | null => {
  const [, before, size, behind] = SIDED.exec(text.trim()) ?? [];
  const side = before ?? behind;
  if (side === undefined || (before !== undefined && behind !== undefined)) return null;
  const value = Number(size!.replace(',', '.'));
  return /^l/i.test(side) ? -value : value;
};
