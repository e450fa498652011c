import { decibelsOf } from '../../audio/decibels.ts';
import type { Overview } from '../../engine/engine.ts';
import type { Point } from '../../files/page/picture-geometry.ts';

/** What of a convolution's values its decay stands by. */
export interface DecayValues {
  /** ms */
  readonly preDelay: number;
  /** Share that is kept, % */
  readonly length: number;
  /** Share of the space, % */
  readonly mix: number;
}

const FLOOR_DB = -60;

/**
 * How an impulse response dies away: points (seconds, dB), `count` at most, after the pre-delay and up to the length that
 * is kept. Each is the highest sample of its stretch against the highest of all, at the level of the share of the space.
 */
export const decayPoints = (response: Overview, values: DecayValues, count: number): Point[] => {
  const { min, max, secondsPerColumn } = response;
  const kept = Math.max(1, Math.ceil((max.length * values.length) / 100));
  const peaks = Float64Array.from(max.subarray(0, kept), (high, column) => Math.max(high, -min[column]!));
  const highest = max.reduce((most, high, column) => Math.max(most, high, -min[column]!), 0);
  if (highest === 0) return [];
  const size = Math.ceil(kept / count);
  return Array.from({ length: Math.ceil(kept / size) }, (_, n) => {
    const peak = peaks.subarray(n * size, (n + 1) * size).reduce((most, x) => Math.max(most, x), 0);
    const db = decibelsOf(((peak / highest) * values.mix) / 100);
    return [values.preDelay / 1000 + n * size * secondsPerColumn, Math.max(FLOOR_DB, db)];
  });
};
