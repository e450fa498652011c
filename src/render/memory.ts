import { framesOf } from '../audio/audio.ts';
import { runFrames } from './executor.ts';
import type { Plan } from './plan.ts';
import type { Sources } from './sources.ts';

/** Both sides of one frame as 32 bit floats. */
const FRAME_BYTES = 8;
/** Sounds held at once for each strip: as rendered, and as measured or compared with the mix as received. */
const SOUNDS_PER_STRIP = 2;
/**
 * Sounds held besides those: inputs of the running strip, the sum in double precision, the print and its measurement.
 */
const PASSING = 8;

/** Memory that rendering and measuring a plan takes, bytes: an estimate, fitted to 18 GB seen for an hour of three strips. */
export const renderBytes = (plan: Plan, sources: Sources): number => {
  const held = [...sources.values()].reduce((sum, { channels, ...rest }) => {
    return sum + 4 * channels.length * framesOf({ channels, ...rest });
  }, 0);
  return held + FRAME_BYTES * runFrames(plan) * (SOUNDS_PER_STRIP * plan.strips.length + PASSING);
};
