import { correlate } from '../../audio/correlate.ts';
import { ConvolutionStage } from './convolution-stage.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';

/** Sizes of the partitions: each size from the sample of its own number on, the last to the end. */
const SIZES = [CONTROL_FRAMES, 8 * CONTROL_FRAMES, 64 * CONTROL_FRAMES] as const;
const LARGEST = SIZES[2];

/**
 * One channel through an impulse response of any length, without delay (Gardner 1995): the first 64 taps are summed as they
 * stand, the rest is partitioned, later taps in larger partitions. All in double precision, within rounding of the direct
 * sum, and the same for any block length.
 */
export class Convolver {
  /** The first taps in reverse order. */
  private readonly head = new Float64Array(CONTROL_FRAMES);
  private readonly stages: readonly ConvolutionStage[];
  /** The control block before, and the one that comes in. */
  private readonly samples = new Float64Array(2 * CONTROL_FRAMES);
  /** Frames of silence after which nothing is left to be heard. */
  private readonly memory: number;
  private quiet: number;

  /** @param impulse the response, full scale 1.0; used as it is, so its level is the caller's */
  constructor(impulse: ArrayLike<number>) {
    const taps = Float64Array.from(impulse);
    this.head.set(taps.subarray(0, CONTROL_FRAMES));
    this.head.reverse();
    this.stages = SIZES.flatMap((size, n) => {
      const part = taps.subarray(size, SIZES[n + 1]);
      return part.length > 0 ? [new ConvolutionStage(part, size)] : [];
    });
    this.memory = taps.length + 2 * LARGEST;
    this.quiet = this.memory;
  }

  /** True when all sound has died away. */
  get silent(): boolean {
    return this.quiet >= this.memory;
  }

  /**
   * Frames 0..count-1 in place; `position` frames of the control block are already done. While it is silent, frames of
   * silence may be left out.
   */
  process(signal: Float64Array, count: number, position: number): void {
    const { head, samples, stages } = this;
    const at = CONTROL_FRAMES + position;
    for (let i = 0; i < count; i++) samples[at + i] = signal[i]!;
    correlate(head, samples, position + 1, signal, 1, count);
    for (const stage of stages) stage.add(signal, count, position);
    if (position + count === CONTROL_FRAMES) this.turn();
  }

  /** Clears the memory. */
  clear(): void {
    this.samples.fill(0);
    for (const stage of this.stages) stage.clear();
    this.quiet = this.memory;
  }

  /** A control block has come in. */
  private turn(): void {
    const { samples, stages } = this;
    for (const stage of stages) stage.take(samples, CONTROL_FRAMES);
    this.quiet += CONTROL_FRAMES;
    for (let i = CONTROL_FRAMES; i < 2 * CONTROL_FRAMES; i++) if (samples[i] !== 0) this.quiet = 0;
    samples.copyWithin(0, CONTROL_FRAMES);
  }
}
