import { runFrames } from './executor.ts';
import type { Plan } from './plan.ts';

/** What a render takes however long it is, bytes: the program, its threads, and the sounds that a store holds in memory. */
const FIXED = 500e6;
/** Beside it, for each frame of the song: two groups whole, where one may be a copy of the other. */
const FRAME = 24;
/** For each path, measured with the groups as received: bounds of its peaks (0.8), and what its weighting remembers. */
const PATH = 1;
/** For each pair of these: its product in every 10 ms, in double precision, and in every 100 ms. */
const PAIR = (1.1 * 8) / 480;
/** For each path whose spectra are kept: 2.46 times its samples. */
const SPECTRA = 20;

/**
 * Memory that rendering and measuring a plan takes, bytes, where sounds are kept in stretches: an estimate from how much is kept of each.
 * `keepsSpectra`: benches are made out of each other, as searches and sweeps do.
 */
export const renderBytes = (plan: Plan, keepsSpectra: boolean): number => {
  const groups = plan.paths.filter(({ kind }) => kind === 'group').length;
  const count = plan.paths.length + groups;
  const perFrame =
    FRAME + PATH * count + (PAIR * count * (count + 1)) / 2 + (keepsSpectra ? SPECTRA * plan.paths.length : 0);
  return FIXED + runFrames(plan) * perFrame;
};
