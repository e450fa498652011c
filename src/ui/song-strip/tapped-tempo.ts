/** A pause longer than this begins a new count of taps, seconds: 20 BPM. */
const LONGEST_GAP = 3;
/** So many of the last taps count. */
const COUNTED = 12;

/**
 * Taps of a beat, seconds, with one more; what lies before a pause is forgotten.
 */
export const withTap = (taps: readonly number[], at: number): number[] =>
  at - (taps.at(-1) ?? at) > LONGEST_GAP ? [at] : [...taps, at].slice(-COUNTED);

/** The tempo that they are tapped at, beats a minute to a tenth; null for fewer than three. The slope of a line through them (least squares). */
export const tappedTempo = (taps: readonly number[]): number | null => {
  if (taps.length < 3) return null;
  const middle = (taps.length - 1) / 2;
  const mean = taps.reduce((sum, at) => sum + at, 0) / taps.length;
  const [product, square] = taps.reduce(
    ([xy, xx], at, n) => [xy + (n - middle) * (at - mean), xx + (n - middle) ** 2] as const,
    [0, 0] as readonly [number, number],
  );
  return Math.round((600 * square) / product) / 10;
};
