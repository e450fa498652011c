import type { Audio } from '../dsp/audio.ts';
import { Chain } from '../dsp/chain.ts';
import { finished } from '../dsp/steps.ts';
import type { RenderedPaths } from './executor.ts';
import type { Plan, PlanMixBus } from './plan.ts';

/** Frames run through the mix bus chain at once. */
const BLOCK_FRAMES = 2048;

/** Gains of a plan's paths by id, linear. */
export const gainsOf = (plan: Plan): ReadonlyMap<string, number> =>
  new Map(plan.paths.map(({ id, gain }) => [id, gain]));

/** The mix before the mix bus: each path times its gain, summed in double precision; stereo, as long as the paths. */
export const sumPaths = (paths: RenderedPaths, gains: ReadonlyMap<string, number>): Audio => {
  const sounds = [...paths]
    .map(([id, audio]) => ({ audio, gain: gains.get(id) ?? 0 }))
    .filter(({ gain }) => gain !== 0);
  const first = paths.values().next().value;
  const frames = first?.channels[0]?.length ?? 0;
  const channels = [0, 1].map((n) => {
    const sum = new Float64Array(frames);
    for (const { audio, gain } of sounds) {
      const channel = audio.channels[n]!;
      for (let i = 0; i < frames; i++) sum[i]! += gain * channel[i]!;
    }
    return new Float32Array(sum);
  });
  return { sampleRate: first?.sampleRate ?? 48_000, channels };
};

/** The printed mix: a sum of paths, trimmed and run through the mix bus chain, its latency taken off. */
export const throughMixBus = (sum: Audio, mixBus: PlanMixBus): Audio => finished(mixBusSteps(sum, mixBus));

/** The same step by step, so that a worker can stop or look up in between. */
export function* mixBusSteps(sum: Audio, { trimGain, steps }: PlanMixBus): Generator<void, Audio> {
  const chain = new Chain(steps, sum.sampleRate, BLOCK_FRAMES);
  const [sumLeft, sumRight] = sum.channels as [Float32Array, Float32Array];
  const frames = sumLeft.length;
  const out = { left: new Float32Array(frames), right: new Float32Array(frames) };
  const left = new Float64Array(BLOCK_FRAMES);
  const right = new Float64Array(BLOCK_FRAMES);
  for (let at = 0; at < frames + chain.latency; at += BLOCK_FRAMES) {
    const count = Math.min(BLOCK_FRAMES, frames + chain.latency - at);
    for (let i = 0; i < count; i++) {
      left[i] = trimGain * (sumLeft[at + i] ?? 0);
      right[i] = trimGain * (sumRight[at + i] ?? 0);
    }
    chain.process(left, right, count);
    const skip = Math.max(0, chain.latency - at);
    for (let i = skip; i < count; i++) {
      out.left[at + i - chain.latency] = left[i]!;
      out.right[at + i - chain.latency] = right[i]!;
    }
    yield;
  }
  return { sampleRate: sum.sampleRate, channels: [out.left, out.right] };
}
