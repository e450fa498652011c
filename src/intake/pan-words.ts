/** "L 42 ± 3", "C", "R 7": a pan and its error, both -1..1, in hundredths; an error below one is not told. */
export const panWords = (pan: number, error: number | null): string => {
  const part = Math.round(Math.abs(pan) * 100);
  const place = part === 0 ? 'C' : `${pan < 0 ? 'L' : 'R'} ${part}`;
  const hundredths = Math.round(100 * (error ?? 0));
  return hundredths === 0 ? place : `${place} ± ${hundredths}`;
};
