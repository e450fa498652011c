import type { Audio } from '../dsp/audio.ts';
import type { RenderedPaths } from './executor.ts';
import { gainsOf, sumPaths, throughMixBus } from './mix.ts';
import type { Plan } from './plan.ts';

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
