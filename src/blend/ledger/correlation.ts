import type { BandFigures } from '../../measure/figures.ts';

const powerOf = ({ levelDb }: BandFigures): number => (levelDb === null ? 0 : 10 ** (levelDb / 10));

/**
 * How much a path has in common with what it doubles, 0..1, from third octaves of both alone and of their sum: in each, half of
 * what the sum has more than both is their product. Phase that turns from band to band does not hide what they have in common. For sounds that have nothing in common it is
 * not 0, but the smaller the longer the stretch: up to 0.03 for five seconds. null where one of them is silent.
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
