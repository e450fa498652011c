import type { StereoSound } from '../../src/audio/audio.ts';
import { Chain, type ChainStep, type ProcessorStep } from '../../src/dsp/core/chain.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import type { KeySignal } from '../../src/dsp/core/processor.ts';
import { processorOf } from '../../src/dsp/core/registry.ts';
import { seeded } from './signals.ts';

const decaying = (seed: number): Float32Array => {
  const random = seeded(seed);
  return Float32Array.from({ length: 6000 }, (_, n) => (2 * random() - 1) * Math.exp(-n / 1000));
};
/** What processors that work with a sound are given: a small room, unlike on both sides. */
export const ROOM: StereoSound = { hash: 'room', left: decaying(41), right: decaying(42) };

/** One step of a chain from settings as a session writes them. */
export const stepOf = (processor: string, settings: Settings = {}): ProcessorStep => {
  const { parameters, sound } = processorOf(processor);
  return { processor, values: valuesFrom(parameters, settings), ...(sound !== undefined && { sound: ROOM }) };
};

/** Runs a chain on copies of `input`, in blocks of the sizes given (repeated as often as needed). */
export function run(
  chain: Chain,
  input: KeySignal,
  blocks: readonly number[] = [128],
  key: KeySignal | null = null,
): KeySignal {
  const left = input.left.slice();
  const right = input.right.slice();
  for (let from = 0, n = 0; from < left.length; n++) {
    const to = Math.min(left.length, from + blocks[n % blocks.length]!);
    const cut = ({ left: a, right: b }: KeySignal): KeySignal => ({
      left: a.subarray(from, to),
      right: b.subarray(from, to),
    });
    const block = cut({ left, right });
    chain.process(block.left, block.right, to - from, key && cut(key));
    from = to;
  }
  return { left, right };
}

/** A new chain over `input`. */
export const through = (
  steps: readonly ChainStep[],
  input: KeySignal,
  sampleRate = 48000,
  key: KeySignal | null = null,
): KeySignal => run(new Chain(steps, sampleRate, 128), input, [128], key);

/** The same samples on both sides. */
export const both = (samples: Float64Array): KeySignal => ({ left: samples, right: samples.slice() });

/** A steady level on both sides. */
export const steady = (level: number, frames: number): KeySignal => both(new Float64Array(frames).fill(level));

/** 1 at frame `at`, both sides. */
export const impulse = (frames: number, at = 0): KeySignal =>
  both(new Float64Array(frames).map((_, n) => (n === at ? 1 : 0)));

/** Uniform noise between -peak and peak, two sides that have nothing in common. */
export const noise = (frames: number, seed: number, peak = 1): KeySignal => {
  const name = [frames, seed, peak].join();
  const { left, right } = madeNoises.get(name) ?? makeNoise(frames, seed, peak);
  if (frames <= KEPT_FRAMES) madeNoises.set(name, { left, right });
  return { left: left.slice(), right: right.slice() };
};

const makeNoise = (frames: number, seed: number, peak: number): KeySignal => {
  const random = seeded(seed);
  const side = (): Float64Array => {
    const samples = new Float64Array(frames);
    for (let n = 0; n < frames; n++) samples[n] = peak * (2 * random() - 1);
    return samples;
  };
  return { left: side(), right: side() };
};

/** Tests over all processors ask for the same short noises again and again. */
const KEPT_FRAMES = 24_000;
const madeNoises = new Map<string, KeySignal>();

/** Sine of a peak level on both sides. */
export const tone = (hz: number, frames: number, peak = 1, sampleRate = 48000): KeySignal =>
  both(Float64Array.from({ length: frames }, (_, n) => peak * Math.sin((2 * Math.PI * hz * n) / sampleRate)));

/** Largest magnitude from frame `from` on, either side. */
export const peakOf = ({ left, right }: KeySignal, from = 0): number => {
  let peak = 0;
  for (const side of [left, right]) for (let n = from; n < side.length; n++) peak = Math.max(peak, Math.abs(side[n]!));
  return peak;
};

/** First frame at which two signals differ in any bit that is heard (0 and -0 are alike), or null. */
export const firstDifference = (a: KeySignal, b: KeySignal): number | null => {
  if (a.left.length !== b.left.length) return Math.min(a.left.length, b.left.length);
  for (let n = 0; n < a.left.length; n++) if (a.left[n] !== b.left[n] || a.right[n] !== b.right[n]) return n;
  return null;
};

/** The signal later by `frames`, same length. */
export const later = ({ left, right }: KeySignal, frames: number): KeySignal => {
  const shift = (side: Float64Array): Float64Array => {
    const out = new Float64Array(side.length);
    out.set(side.subarray(0, side.length - frames), frames);
    return out;
  };
  return { left: shift(left), right: shift(right) };
};
