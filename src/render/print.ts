import type { Audio } from '../dsp/audio.ts';
import type { RenderedPaths } from './executor.ts';
import { gainsOf, sumPaths, throughMixBus } from './mix.ts';
import type { Plan } from './plan.ts';

/** What stays below this in every path, to its end, is not printed: -120 dBFS. */
const INAUDIBLE = 1e-6;

/** Frames until the last sample of any path that is above INAUDIBLE, from `least` to `most`. */
const lastHeard = (paths: RenderedPaths, least: number, most: number): number => {
  let end = least;
  for (const { channels } of paths.values()) {
    for (const channel of channels) {
      let last = most;
      while (last > end && Math.abs(channel[last - 1]!) < INAUDIBLE) last--;
      end = last;
    }
  }
  return end;
};

/**
 * The plan with the length that its paths turned out to have: a chain states its tail for the loudest input, and what
 * was rendered has often died away sooner. The song itself is never shortened.
 */
export const settledPlan = (plan: Plan, paths: RenderedPaths): Plan => ({
  ...plan,
  soundFrames: lastHeard(paths, plan.songFrames, plan.soundFrames),
});

/** The part of a sound until the last tail of the plan has died away. */
const trimmed = ({ sampleRate, channels }: Audio, { soundFrames }: Plan): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(0, soundFrames)),
});

/** The main mix as it is printed: all paths at their blends, trimmed, through the mix bus chain; stereo. */
export const mainPrint = (plan: Plan, paths: RenderedPaths): Audio =>
  trimmed(throughMixBus(sumPaths(paths, gainsOf(plan)), plan.mixBus), plan);

/** One path as a stem: at its fader or blend, before the mix bus; the stems of all paths add up to the mix before it. */
export const stemPrint = (plan: Plan, paths: RenderedPaths, id: string): Audio =>
  trimmed(sumPaths(new Map([[id, paths.get(id)!]]), gainsOf(plan)), plan);

/** The mix before the mix bus: what the ledger's figures are of. */
export const sumPrint = (plan: Plan, paths: RenderedPaths): Audio => trimmed(sumPaths(paths, gainsOf(plan)), plan);
