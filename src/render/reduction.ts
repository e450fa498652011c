import { framesOf, type Audio } from '../audio/audio.ts';
import type { ProcessorStep } from '../dsp/core/chain.ts';
import { decibelsOf } from '../audio/decibels.ts';
import { CONTROL_FRAMES, type Kernel, type KeySignal } from '../dsp/core/processor.ts';
import { POINT_FRAMES } from '../dsp/dynamics/reduction-history.ts';
import { processorOf } from '../dsp/core/registry.ts';
import type { StageInput } from './stage-input.ts';

/** Share of the time that a sound spends at each level. */
export interface LevelHistogram {
  /** Lower end of the first bin, dB; each is 1 dB wide. */
  readonly lowDb: number;
  /** Share of the time in each bin, 0..1; what is softer than the first or louder than the last is in none. */
  readonly shares: readonly number[];
}

/** Gain reduction of a dynamics processor over time, and the levels that its detector receives. */
export interface Reduction {
  readonly hopSeconds: number;
  /** The most that it turned down in each hop, dB, 0 or more; time is that of the sound as it comes out. */
  readonly reductionDb: Float32Array;
  /** Peak levels, both channels, of the stretches of POINT_FRAMES of what its detector is given: its input, or the key. */
  readonly levels: LevelHistogram;
}

/** Peak of both channels over frames from..to-1. */
const peakOf = ({ channels }: Audio, from: number, to: number): number => {
  let peak = 0;
  for (const channel of channels) for (let i = from; i < to; i++) peak = Math.max(peak, Math.abs(channel[i]!));
  return peak;
};

/** Peak levels of a sound from frame `from` on, over a range of dB. */
export const levelHistogram = (sound: Audio, from: number, [low, high]: readonly [number, number]): LevelHistogram => {
  const counts = new Array<number>(Math.round(high - low)).fill(0);
  const frames = framesOf(sound);
  let stretches = 0;
  for (let at = from; at < frames; at += POINT_FRAMES, stretches++) {
    const bin = Math.floor(decibelsOf(peakOf(sound, at, Math.min(frames, at + POINT_FRAMES))) - low);
    if (counts[bin] !== undefined) counts[bin]++;
  }
  return { lowDb: low, shares: counts.map((count) => count / Math.max(1, stretches)) };
};

/** One control block of a sound; silence after its end. */
const load = ({ channels }: Audio, at: number, { left, right }: KeySignal): void => {
  for (let i = 0; i < CONTROL_FRAMES; i++) {
    left[i] = channels[0]![at + i] ?? 0;
    right[i] = channels[1]![at + i] ?? 0;
  }
};

const block = (): KeySignal => ({ left: new Float64Array(CONTROL_FRAMES), right: new Float64Array(CONTROL_FRAMES) });

/** The points of a kernel's history over the whole input, step by step. */
function* historySteps(kernel: Kernel, { sound, key }: StageInput, latency: number): Generator<number, number[]> {
  const points: number[] = [];
  const newest = new Float32Array(1);
  const main = block();
  const steering = key && block();
  const frames = framesOf(sound) + latency + POINT_FRAMES;
  for (let at = 0; at < frames; at += CONTROL_FRAMES) {
    load(sound, at, main);
    if (key && steering) load(key, at, steering);
    kernel.control();
    if (kernel.history!.count > points.length) {
      kernel.history!.read(newest);
      points.push(newest[0]!);
      yield at / frames;
    }
    kernel.process(main.left, main.right, 0, CONTROL_FRAMES, steering);
  }
  return points;
}

/**
 * Gain reduction of a processor and the levels at its detector, without the first `leadFrames`, in which it only
 * settles. null for a processor that keeps no history. Each step yields the part done, 0..1.
 */
export function* reductionSteps(
  input: StageInput,
  step: ProcessorStep,
  leadFrames: number,
): Generator<number, Reduction | null> {
  const { sampleRate } = input.sound;
  const processor = processorOf(step.processor);
  const kernel = processor.createKernel(step.values, sampleRate, step.sound);
  if (!kernel.history) return null;
  const latency = processor.latency(step.values, sampleRate);
  const points = yield* historySteps(kernel, input, latency);
  const first = Math.round((leadFrames + latency) / POINT_FRAMES);
  const count = Math.ceil((framesOf(input.sound) - leadFrames) / POINT_FRAMES);
  const heard = processor.listensToKey?.(step.values) ? input.key : input.sound;
  const silent: Audio = { sampleRate, channels: [] };
  return {
    hopSeconds: POINT_FRAMES / sampleRate,
    reductionDb: Float32Array.from(points.slice(first, first + count)),
    levels: levelHistogram(heard ?? silent, leadFrames, processor.picture.x),
  };
}
