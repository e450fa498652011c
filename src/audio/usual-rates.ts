/** Sample rates that audio is recorded and handed over at, Hz (AES5-2018, clauses 4 and 5, and their multiples). */
export const USUAL_RATES = [44_100, 48_000, 88_200, 96_000, 176_400, 192_000] as const;

/** The rate that most of the files have, Hz; of two such rates, the higher; 48 kHz where there is none. */
export const mostUsedRate = (rates: readonly number[]): number => {
  const count = (rate: number): number => rates.filter((other) => other === rate).length;
  return rates.toSorted((a, b) => count(b) - count(a) || b - a)[0] ?? 48_000;
};
