import { scaleLinear } from 'd3-scale';
import { CLOSED_DB } from '../../session/schema.ts';

export const LOUDEST_DB = 24;

// Most of the way is given to the levels at which blends are set; what is below -60 dB only leads to −∞.
const scale = scaleLinear([CLOSED_DB, -60, -30, 0, 12, LOUDEST_DB], [0, 0.05, 0.36, 0.8, 0.94, 1]).clamp(true);

/** Left of here, a dragged handle goes to −∞. */
const CLOSED_BELOW = 0.03;

/** Where a level stands along the stream, 0 (−∞) to 1. */
export const positionOf = (levelDb: number): number => scale(levelDb);

/** The level at a place along the stream, to a tenth of a dB. */
export const levelAt = (position: number): number =>
  position < CLOSED_BELOW ? CLOSED_DB : Math.max(-60, Math.round(scale.invert(position) * 10) / 10);

/** A level kept within what a blend can be; anything below -60 dB that came by a step down is −∞. */
export const clampLevel = (levelDb: number): number =>
  Math.min(LOUDEST_DB, Math.max(CLOSED_DB, Math.round(levelDb * 10) / 10));

/** One step from a level: the first step up from −∞ is -60 dB, the first below -60 dB is −∞. */
export const stepLevel = (levelDb: number, stepDb: number): number => {
  if (levelDb <= CLOSED_DB) return stepDb > 0 ? -60 : CLOSED_DB;
  const next = clampLevel(levelDb + stepDb);
  return next < -60 ? CLOSED_DB : next;
};
