import { framesOf, type Audio } from '../audio/audio.ts';
import { Chain, type ChainStep } from '../dsp/core/chain.ts';
import { finished } from '../audio/steps.ts';
import type { RenderedPaths } from './executor.ts';
import type { Plan, PlanMixBus } from './plan.ts';

/** Frames run through the mix bus chain at once. */
const BLOCK_FRAMES = 2048;

/** Gains of a plan's paths by id, linear. */
export const gainsOf = (plan: Plan): ReadonlyMap<string, number> =>
  new Map(plan.paths.map(({ id, gain }) => [id, gain]));

/** Frames summed at once: a block stays in the processor's cache while every path is added to it. */
const SUM_FRAMES = 16_384;

/** The mix before the mix bus: each path times its gain, summed in double precision; stereo, as long as the paths. */
export const sumPaths = (paths: RenderedPaths, gains: ReadonlyMap<string, number>): Audio =>
  finished(sumSteps(paths, gains));

/** The same step by step, so that the page gets its turn in between; each step yields the part done, 0..1. */
export function* sumSteps(paths: RenderedPaths, gains: ReadonlyMap<string, number>): Generator<number, Audio> {
  const sounds = [...paths]
    .map(([id, audio]) => ({ audio, gain: gains.get(id) ?? 0 }))
    .filter(({ gain }) => gain !== 0);
  const first = paths.values().next().value;
  const frames = first?.channels[0]?.length ?? 0;
  const channels = [new Float32Array(frames), new Float32Array(frames)];
  const sum = new Float64Array(SUM_FRAMES);
  for (let from = 0; from < frames; from += SUM_FRAMES) {
    const count = Math.min(SUM_FRAMES, frames - from);
    for (const [n, out] of channels.entries()) {
      sum.fill(0);
      for (const { audio, gain } of sounds) {
        const channel = audio.channels[n]!;
        for (let i = 0; i < count; i++) sum[i]! += gain * channel[from + i]!;
      }
      for (let i = 0; i < count; i++) out[from + i] = sum[i]!;
    }
    yield (from + count) / frames;
  }
  return { sampleRate: first?.sampleRate ?? 48_000, channels };
}

/** The printed mix: a sum of paths, trimmed and run through the mix bus chain, its latency taken off. */
export const throughMixBus = (sum: Audio, mixBus: PlanMixBus): Audio => finished(mixBusSteps(sum, mixBus));

/** The same step by step, so that a worker can stop or look up in between. */
export const mixBusSteps = (sum: Audio, { trimGain, steps }: PlanMixBus): Generator<number, Audio> =>
  chainSteps(sum, steps, null, trimGain);

/** Two channels of a block, double precision; nothing sounds behind the end. */
class Block {
  readonly left = new Float64Array(BLOCK_FRAMES);
  readonly right = new Float64Array(BLOCK_FRAMES);

  load({ channels }: Audio, at: number, count: number, gain: number): void {
    const [left, right] = channels as [Float32Array, Float32Array];
    for (let i = 0; i < count; i++) {
      this.left[i] = gain * (left[at + i] ?? 0);
      this.right[i] = gain * (right[at + i] ?? 0);
    }
  }
}

/** Frames until a sound is silent for good. */
const soundEndOf = ({ channels }: Audio): number =>
  Math.max(0, ...channels.map((channel) => channel.findLastIndex((x) => x !== 0) + 1));

/**
 * A stereo sound, times `gain`, run through a chain, latency taken off; as long as it came in. `key` is aligned with the sound.
 * Each step yields the part done, 0..1.
 */
export function* chainSteps(
  sound: Audio,
  steps: readonly ChainStep[],
  key: Audio | null,
  gain = 1,
): Generator<number, Audio> {
  const chain = new Chain(steps, sound.sampleRate, BLOCK_FRAMES, soundEndOf(sound));
  const frames = framesOf(sound);
  const out = { left: new Float32Array(frames), right: new Float32Array(frames) };
  const main = new Block();
  const { left, right } = main;
  const steering = key && new Block();
  for (let at = 0; at < frames + chain.latency; at += BLOCK_FRAMES) {
    const count = Math.min(BLOCK_FRAMES, frames + chain.latency - at);
    main.load(sound, at, count, gain);
    if (key) steering?.load(key, at, count, 1);
    chain.process(left, right, count, steering);
    const skip = Math.max(0, chain.latency - at);
    for (let i = skip; i < count; i++) {
      out.left[at + i - chain.latency] = left[i]!;
      out.right[at + i - chain.latency] = right[i]!;
    }
    yield at / (frames + chain.latency);
  }
  return { sampleRate: sound.sampleRate, channels: [out.left, out.right] };
}
