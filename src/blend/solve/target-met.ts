import type { PrintedMix } from './printed-mix.ts';
import { scaleOf } from './solve-problem.ts';
import { VALUE_TOLERANCE } from './solve-search.ts';
import type { Target } from './solve-target.ts';

/** Tolerance of the peak model, dB: a search ends with the peaks known to within this. */
export const PEAK_TOLERANCE = 0.02;

/** The figure of a target in a print; null where it has none. */
export const valueIn = ({ figure }: Target, { figures, guarded }: PrintedMix): number | null =>
  figure.valueOf(figures, () => guarded.lowsCorrelation);

const roomOf = ({ figure }: Target): number =>
  (figure.cost === 'peaks' ? PEAK_TOLERANCE : 2 * VALUE_TOLERANCE) * scaleOf(figure.unit);

/** Whether a value meets the target, within 0.01 dB (peaks: 0.02 dB). */
export const isMet = (target: Target, value: number | null): boolean => {
  if (value === null) return false;
  // "max" and "min" count as met as far as guards and limits allow; the solution names those that limit it.
  if (typeof target.wanted === 'string') return true;
  const room = roomOf(target);
  return value >= target.wanted.low - room && value <= target.wanted.high + room;
};

/** Distance of a value from the target, in scales; for "max" and "min" it is smaller the further the value goes. */
export const distanceFromTarget = (target: Target, value: number | null): number => {
  const { figure, wanted } = target;
  if (value === null) return Infinity;
  if (isMet(target, value) && typeof wanted !== 'string') return 0;
  const away =
    typeof wanted === 'string'
      ? value * (wanted === 'max' ? -1 : 1)
      : Math.max(wanted.low - value, value - wanted.high);
  return away / scaleOf(figure.unit);
};
