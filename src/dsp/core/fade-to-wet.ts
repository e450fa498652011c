import type { Ramp } from './ramp.ts';

/**
 * Moves frames start..start+count-1 of both sides towards the wet ones (their frames 0..count-1) by `share`, 0 dry to 1 wet,
 * in place. `position` frames of the control block are already done.
 */
export const fadeToWet = (
  left: Float64Array,
  right: Float64Array,
  start: number,
  count: number,
  wetLeft: Float64Array,
  wetRight: Float64Array,
  { value, step }: Ramp,
  position: number,
): void => {
  for (let i = 0; i < count; i++) {
    const share = value + step * (position + i);
    left[start + i]! += share * (wetLeft[i]! - left[start + i]!);
    right[start + i]! += share * (wetRight[i]! - right[start + i]!);
  }
};
