import { decibelsOf } from '../../audio/decibels.ts';

/** Points of one wave: harmonics up to a quarter of it are free of those that fold back from beyond three quarters. */
const POINTS = 512;
/** What is lower is rounding, dB. */
const FLOOR_DB = -200;

/**
 * Harmonics that a curve makes of a sine, by a discrete cosine sum over one wave: A cos t in, a sum of a_n cos n t out.
 *
 * @param curve sample out for a sample in
 * @param peak of the sine, samples
 * @param count of harmonics, from the second on
 * @returns level of each against the fundamental, dB; -200 where there is none
 */
export const harmonicsOf = (curve: (sample: number) => number, peak: number, count: number): number[] => {
  const angles = Array.from({ length: POINTS }, (_, n) => (2 * Math.PI * n) / POINTS);
  const wave = angles.map((angle) => curve(peak * Math.cos(angle)));
  const partOf = (order: number): number =>
    Math.abs(wave.reduce((sum, sample, n) => sum + sample * Math.cos(order * angles[n]!), 0)) * (2 / POINTS);
  const fundamental = partOf(1);
  return Array.from({ length: count }, (_, n) =>
    fundamental > 0 ? Math.max(FLOOR_DB, decibelsOf(partOf(n + 2) / fundamental)) : FLOOR_DB,
  );
};
