import { framesOf, placedSound, type Audio, type Sound } from '../audio/audio.ts';
import { lastOf, type Samples } from '../audio/samples.ts';
import { Chain, chainLatency, type ChainStep } from '../dsp/core/chain.ts';
import { fillMovingLevel, type MovingLevel } from '../dsp/core/moving-gains.ts';
import { CONTROL_FRAMES } from '../dsp/core/processor.ts';
import { finished } from '../audio/steps.ts';
import { chainMemorySeconds } from './chain-memory.ts';
import type { RenderedPaths } from './executor.ts';
import type { Plan, PlanMixBus } from './plan/plan.ts';
import { memoryRoom, type SoundRoom } from './store/room.ts';

/** Frames run through the mix bus chain at once. */
const BLOCK_FRAMES = 2048;

/** Gains of a plan's paths by id, linear. */
export const gainsOf = (plan: Plan): ReadonlyMap<string, number> =>
  new Map(plan.paths.map(({ id, gain }) => [id, gain]));

/** One channel of a mix before the mix bus: each path times its gain, summed in double precision, whenever it is asked for. */
class SummedSamples implements Samples {
  constructor(
    private readonly parts: readonly { readonly samples: Samples; readonly gain: number }[],
    readonly length: number,
  ) {}

  subarray(from: number, to: number): Float32Array {
    const sum = new Float64Array(to - from);
    for (const { samples, gain } of this.parts) {
      const stretch = samples.subarray(from, to);
      for (let i = 0; i < stretch.length; i++) sum[i]! += gain * stretch[i]!;
    }
    return new Float32Array(sum);
  }
}

/** The mix before the mix bus, worked out as it is read; stereo, as long as the paths. */
export const summedPaths = (paths: RenderedPaths, gains: ReadonlyMap<string, number>): Sound => {
  const sounds = [...paths]
    .map(([id, { channels }]) => ({ channels, gain: gains.get(id) ?? 0 }))
    .filter(({ gain }) => gain !== 0);
  const first = paths.values().next().value;
  const frames = first ? framesOf(first) : 0;
  const channels = [0, 1].map((n) => {
    const parts = sounds.map(({ channels, gain }) => ({ samples: channels[n]!, gain }));
    return new SummedSamples(parts, frames);
  });
  return { sampleRate: first?.sampleRate ?? 48_000, channels };
};

/** The same in memory. */
export const sumPaths = (paths: RenderedPaths, gains: ReadonlyMap<string, number>): Audio =>
  finished(sumSteps(paths, gains));

/** Frames summed at once: a block stays in the processor's cache while every path is added to it. */
const SUM_FRAMES = 16_384;

/** The same step by step, so that the page gets its turn in between; each step yields the part done, 0..1. */
export function* sumSteps(paths: RenderedPaths, gains: ReadonlyMap<string, number>): Generator<number, Audio> {
  const summed = summedPaths(paths, gains);
  const frames = framesOf(summed);
  const channels = [new Float32Array(frames), new Float32Array(frames)];
  for (let from = 0; from < frames; from += SUM_FRAMES) {
    const to = Math.min(frames, from + SUM_FRAMES);
    channels.forEach((channel, n) => channel.set(summed.channels[n]!.subarray(from, to), from));
    yield to / frames;
  }
  return { sampleRate: summed.sampleRate, channels };
}

/** The printed mix: a sum of paths, trimmed and run through the mix bus chain, its latency taken off. */
export const throughMixBus = (sum: Sound, mixBus: PlanMixBus): Audio => finished(mixBusSteps(sum, mixBus));

/** The same step by step, so that a worker can stop or look up in between. */
export const mixBusSteps = (sum: Sound, mixBus: PlanMixBus): Generator<number, Audio> =>
  mixBusStepsIn(memoryRoom, sum, mixBus);

/** The same, kept in `room`. */
export const mixBusStepsIn = <S extends Samples>(
  room: SoundRoom<S>,
  sum: Sound,
  { trimGain, moving, steps }: PlanMixBus,
): Generator<number, SoundIn<S>> => chainStepsIn(room, sum, steps, null, trimGain, moving);

/**
 * The mix through the mix bus over frames from..to-1 of the song alone: the chain begins in rest some seconds before, as long as it
 * remembers. From the song's start, or without a chain, it is the print.
 */
export function* mixBusSectionSteps(
  sum: Sound,
  mixBus: PlanMixBus,
  { from, to }: { readonly from: number; readonly to: number },
): Generator<number, Sound> {
  const { sampleRate } = sum;
  const { steps, trimGain, moving } = mixBus;
  const before = Math.max(0, from - Math.round(chainMemorySeconds([steps], sampleRate) * sampleRate));
  const place = before - (before % CONTROL_FRAMES);
  // A chain that looks ahead must see what follows.
  const end = Math.min(framesOf(sum), to + chainLatency(steps, sampleRate));
  const part = placedSound(sum, -place, Math.max(0, end - place));
  const print = yield* chainStepsIn(memoryRoom, part, steps, null, trimGain, moving, place);
  return placedSound(print, place - from, Math.max(0, Math.min(to, framesOf(sum)) - from));
}

/** Frames at..at + count - 1 of samples, times `gain`, from the start of `block` on; zeros after their end. */
const fill = (block: Float64Array, samples: Samples, at: number, count: number, gain: number): void => {
  const part = samples.subarray(Math.min(samples.length, at), Math.min(samples.length, at + count));
  for (let i = 0; i < part.length; i++) block[i] = gain * part[i]!;
  block.fill(0, part.length, count);
};

/** Two channels of a block, double precision; nothing sounds after the end. */
class Block {
  readonly left = new Float64Array(BLOCK_FRAMES);
  readonly right = new Float64Array(BLOCK_FRAMES);

  load({ channels }: Sound, at: number, count: number, gain: number): void {
    fill(this.left, channels[0]!, at, count, gain);
    fill(this.right, channels[1]!, at, count, gain);
  }

  /** Applies the gains of as many frames. */
  scale(gains: Float64Array, count: number): void {
    for (let i = 0; i < count; i++) {
      this.left[i]! *= gains[i]!;
      this.right[i]! *= gains[i]!;
    }
  }
}

/** Frames until a sound is silent for good. */
const soundEndOf = ({ channels }: Sound): number =>
  channels.reduce((end, channel) => lastOf(channel, end, (x) => x !== 0), 0);

/** A stereo sound as a room keeps it. */
export interface SoundIn<S extends Samples> extends Sound {
  readonly channels: readonly [S, S];
}

/**
 * A stereo sound, times `gain`, run through a chain, latency taken off; as long as it came in. `key` is aligned with the sound.
 * Each step yields the part done, 0..1.
 */
export const chainSteps = (
  sound: Sound,
  steps: readonly ChainStep[],
  key: Sound | null,
  gain = 1,
): Generator<number, Audio> => chainStepsIn(memoryRoom, sound, steps, key, gain);

/** The same, kept in `room`, and under a level that moves beside `gain`; the sound begins at frame `place` of the song. */
function* chainStepsIn<S extends Samples>(
  room: SoundRoom<S>,
  sound: Sound,
  steps: readonly ChainStep[],
  key: Sound | null,
  gain: number,
  moving?: MovingLevel,
  place = 0,
): Generator<number, SoundIn<S>> {
  const chain = new Chain(steps, sound.sampleRate, BLOCK_FRAMES, soundEndOf(sound));
  chain.seek(place);
  const frames = framesOf(sound);
  const out = room.take(frames);
  const passed = [new Float32Array(BLOCK_FRAMES), new Float32Array(BLOCK_FRAMES)] as const;
  const main = new Block();
  const { left, right } = main;
  const steering = key && new Block();
  const open = new Float64Array(BLOCK_FRAMES);
  for (let at = 0; at < frames + chain.latency; at += BLOCK_FRAMES) {
    const count = Math.min(BLOCK_FRAMES, frames + chain.latency - at);
    main.load(sound, at, count, gain);
    if (moving) {
      fillMovingLevel(moving, sound.sampleRate, place + at, count, open);
      main.scale(open, count);
    }
    if (key) steering?.load(key, at, count, 1);
    chain.process(left, right, count, steering);
    const skip = Math.max(0, chain.latency - at);
    if (skip < count) {
      passed[0].set(left);
      passed[1].set(right);
      out.put(at + skip - chain.latency, passed[0].subarray(skip, count), passed[1].subarray(skip, count));
    }
    yield at / (frames + chain.latency);
  }
  return { sampleRate: sound.sampleRate, channels: [out.left, out.right] };
}
