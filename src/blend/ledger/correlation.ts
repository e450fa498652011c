import type { BandFigures } from '../../measure/figures.ts';

const powerOf = ({ levelDb }: BandFigures): number => (levelDb === null ? 0 : 10 ** (levelDb / 10));

/**
 * Correlation of a path with what it doubles, 0..1, from third octaves of both alone and of their sum: in each, half of
 * the energy that the sum has beyond both is their product. A phase that differs from band to band does not lower it. For unrelated sounds it is
 * not 0, but smaller the longer the sound: up to 0.03 for five seconds. null where one of them is silent.
 */
export const correlationOf = (
  source: readonly BandFigures[],
  path: readonly BandFigures[],
  together: readonly BandFigures[],
): number | null => {
  let common = 0;
  let most = 0;
  for (const [n, band] of source.entries()) {
    const [a, b] = [powerOf(band), powerOf(path[n]!)];
    common += Math.abs(powerOf(together[n]!) - a - b) / 2;
    most += Math.sqrt(a * b);
  }
  return most === 0 ? null : common / most;
};
