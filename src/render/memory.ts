import { runFrames } from './executor.ts';
import type { Plan } from './plan/plan.ts';

/**
 * What a render takes however long it is, bytes: the program, its threads, the sounds that a store holds in memory, and the spectra that
 * are kept where blend spaces are made out of each other.
 */
const FIXED = 750e6;
/** Beside it, for each frame of the song: the mids of two groups, where one may be a copy of the other, and what they are compared by. */
const FRAME = 16;
/** For each path, measured with the groups as received: bounds of its peaks (0.4), and what its weighting remembers. */
const PATH = 0.6;
/** For each pair of these: its product in every 10 ms, in double precision, and in every 100 ms. */
const PAIR = (1.1 * 8) / 480;

/**
 * Memory that rendering and measuring a plan takes, bytes, where sounds are kept in stretches: an estimate from how much is kept of each.
 */
export const renderBytes = (plan: Plan): number => {
  const groups = plan.paths.filter(({ kind }) => kind === 'group').length;
  const count = plan.paths.length + groups;
  const perFrame = FRAME + PATH * count + (PAIR * count * (count + 1)) / 2;
  return FIXED + runFrames(plan) * perFrame;
};
