import FFT from 'fft.js';
import type { LoudnessMatch } from '../dynamics/loudness-match.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import type { Ramp } from '../core/ramp.ts';

/** Length of a frame, seconds, before it is rounded to a power of two. */
const FRAME_SECONDS = 0.043;
/** Frames that overlap at any moment. */
const OVERLAP = 4;
/** What the squares of that many overlapping Hann windows add up to. */
const WINDOW_SUM = 1.5;

/** Length of the frames at `sampleRate`, samples, a power of two: 2048 at 44.1 and 48 kHz. Also the latency. */
export const frameSize = (sampleRate: number): number => 2 ** Math.round(Math.log2(FRAME_SECONDS * sampleRate));

/** Samples from one frame to the next: whole control blocks. */
export const frameHop = (sampleRate: number): number => Math.max(CONTROL_FRAMES, frameSize(sampleRate) / OVERLAP);

/**
 * Removes parts of the spectrum from two channels: overlapping frames under a Hann window are transformed, the shares
 * to remove are weighted, transformed back under the same window and summed. The sound itself only passes a delay of
 * one frame, so that with nothing to remove it is unchanged to the last bit.
 */
export class SpectralFrames {
  readonly size: number;
  /** Transform of left + i right of the frame analysed last: real, imaginary, real, .. */
  readonly spectrum: Float64Array;
  private readonly hop: number;
  private readonly fft: FFT;
  private readonly window: Float64Array;
  private readonly data: Float64Array;
  /** The last `size` samples of both channels, and the part to remove from each. */
  private readonly left: Float64Array;
  private readonly right: Float64Array;
  private readonly takenLeft: Float64Array;
  private readonly takenRight: Float64Array;
  /** Place of the control block in these. */
  private at = 0;
  private untilFrame: number;
  /** True when the frame analysed last is the same on both sides: then so is what is taken, to the last bit. */
  private same = true;

  constructor(sampleRate: number) {
    const size = frameSize(sampleRate);
    this.size = size;
    this.hop = frameHop(sampleRate);
    this.untilFrame = this.hop;
    this.fft = new FFT(size);
    this.window = Float64Array.from({ length: size }, (_, n) => 0.5 - 0.5 * Math.cos((2 * Math.PI * n) / size));
    this.spectrum = new Float64Array(2 * size);
    this.data = new Float64Array(2 * size);
    this.left = new Float64Array(size);
    this.right = new Float64Array(size);
    this.takenLeft = new Float64Array(size);
    this.takenRight = new Float64Array(size);
  }

  /** Starts a control block. True when a frame has come in. */
  control(): boolean {
    if (this.untilFrame > 0) return false;
    this.untilFrame = this.hop;
    return true;
  }

  /** Transforms the last frame into `spectrum`. */
  analyse(): void {
    const { left, right, window, data, at, size } = this;
    let same = true;
    for (let n = 0; n < size; n++) {
      const from = (at + n) & (size - 1);
      data[2 * n] = window[n]! * left[from]!;
      data[2 * n + 1] = window[n]! * right[from]!;
      if (left[from] !== right[from]) same = false;
    }
    this.same = same;
    this.fft.transform(this.spectrum, data);
  }

  /** Takes from the frame analysed last the share of each bin that `shares` holds (0 .. size / 2, from 0 to 1). */
  take(shares: Float64Array): void {
    const { spectrum, data, window, takenLeft, takenRight, at, size, same } = this;
    for (let bin = 0; bin < size; bin++) {
      const share = shares[bin <= size / 2 ? bin : size - bin]!;
      data[2 * bin] = share * spectrum[2 * bin]!;
      data[2 * bin + 1] = share * spectrum[2 * bin + 1]!;
    }
    this.fft.transform(spectrum, data);
    // The transform of a transform is the signal backwards, `size` times as large.
    const scale = 1 / (size * WINDOW_SUM);
    for (let n = 0; n < size; n++) {
      const to = (at + n) & (size - 1);
      const from = (size - n) & (size - 1);
      takenLeft[to]! += scale * window[n]! * spectrum[2 * from]!;
      takenRight[to]! += scale * window[n]! * spectrum[same ? 2 * from : 2 * from + 1]!;
    }
  }

  /** Frames start..end-1 in place become the delayed sound times `dry` plus what is taken away times `taken`. */
  process(
    left: Float64Array,
    right: Float64Array,
    start: number,
    end: number,
    dry: Ramp,
    taken: Ramp,
    position: number,
  ): void {
    const { left: ownLeft, right: ownRight, takenLeft, takenRight } = this;
    for (let i = start, k = position; i < end; i++, k++) {
      const at = this.at + k;
      const keep = dry.value + dry.step * k;
      const add = taken.value + taken.step * k;
      const inLeft = left[i]!;
      const inRight = right[i]!;
      left[i] = keep * ownLeft[at]! + add * takenLeft[at]!;
      right[i] = keep * ownRight[at]! + add * takenRight[at]!;
      ownLeft[at] = inLeft;
      ownRight[at] = inRight;
      takenLeft[at] = takenRight[at] = 0;
    }
    if (position + end - start === CONTROL_FRAMES) {
      this.at = (this.at + CONTROL_FRAMES) & (this.size - 1);
      this.untilFrame -= CONTROL_FRAMES;
    }
  }

  /** Passes the input of the frames that are output next to `loudness`: `count` frames, before they are processed. */
  hearLate(loudness: LoudnessMatch, position: number, count: number): void {
    loudness.hear(this.left, this.right, this.at + position, this.at + position + count);
  }

  reset(): void {
    for (const memory of [this.left, this.right, this.takenLeft, this.takenRight]) memory.fill(0);
    this.at = 0;
    this.untilFrame = this.hop;
  }
}
