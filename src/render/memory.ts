import { framesOf } from '../audio/audio.ts';
import { runFrames } from './executor.ts';
import type { Plan } from './plan.ts';
import type { Sources } from './sources.ts';

/** Both sides of one frame as 32 bit floats. */
const FRAME_BYTES = 8;
/** Beside what stays of each strip: the inputs of the one that runs, its sum, and a print of it. */
const PASSING = 4;

/** Memory that a render takes at least, bytes: its sources, a sound for each strip, and what passes through. */
export const renderBytes = (plan: Plan, sources: Sources): number => {
  const held = [...sources.values()].reduce((sum, { channels, ...rest }) => {
    return sum + 4 * channels.length * framesOf({ channels, ...rest });
  }, 0);
  return held + FRAME_BYTES * runFrames(plan) * (plan.strips.length + PASSING);
};
