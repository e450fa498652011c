import { HalfBand, halfBandLength } from '../filters/half-band.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';

/**
 * Upper end of the pass band, Hz: 20 kHz at 44.1 and 48 kHz, the same part of the rate as at 48 kHz above, and not nearer
 * to Nyquist than 0.46 of the rate below.
 */
const passBand = (sampleRate: number): number => Math.min(0.46 * sampleRate, Math.max(20000, sampleRate / 2.4));

/**
 * Pass band of each doubling in turn, in parts of its higher rate. Each filter is shorter than the last: it has only to
 * remove the images of a band already limited.
 */
const passBands = (factor: number, sampleRate: number): readonly number[] =>
  Array.from({ length: Math.log2(factor) }, (_, stage) => passBand(sampleRate) / (sampleRate * 2 ** (stage + 1)));

/** Samples from input to output of an oversampler with nothing inside; whole at every rate and factor. */
export const oversamplingLatency = (factor: number, sampleRate: number): number =>
  passBands(factor, sampleRate)
    .map(halfBandLength)
    // 2 m - 1 samples at the lower rate of each stage; after the first stage one more, which makes it a whole number here.
    .reduce((sum, m, stage) => sum + (stage === 0 ? 2 * m - 1 : (2 * m) / 2 ** stage), 0);

/**
 * Raises the rate of one channel by 2, 4 or 8 and brings it back, in half-band stages (linear phase, stop band 100 dB).
 * Between `up` and `down` the samples may be changed at will; unchanged, they come back late by a whole number of samples.
 */
export class Oversampler {
  private readonly stages: readonly HalfBand[];
  /** Signals at 1, 2, 4 .. times the rate. */
  private readonly signals: readonly Float64Array[];
  /** The oversampled block: factor * frames samples from index 0. */
  readonly samples: Float64Array;

  constructor(
    readonly factor: number,
    sampleRate: number,
  ) {
    this.stages = passBands(factor, sampleRate).map(
      (pass, stage) => new HalfBand(pass, stage === 0 ? 0 : 1, CONTROL_FRAMES * 2 ** stage),
    );
    this.signals = Array.from(
      { length: this.stages.length + 1 },
      (_, stage) => new Float64Array(CONTROL_FRAMES * 2 ** stage),
    );
    this.samples = this.signals[this.stages.length]!;
  }

  /** Reads frames start..end-1 (at most CONTROL_FRAMES of them) and fills `samples`. */
  up(input: Float64Array, start: number, end: number): void {
    const { stages, signals } = this;
    const base = signals[0]!;
    const frames = end - start;
    for (let i = 0; i < frames; i++) base[i] = input[start + i]!;
    for (let s = 0; s < stages.length; s++) stages[s]!.up(signals[s]!, signals[s + 1]!, frames << s);
  }

  /** Brings `samples` back to the rate and writes frames 0..frames-1. */
  down(output: Float64Array, frames: number): void {
    const { stages, signals } = this;
    for (let s = stages.length - 1; s >= 0; s--) {
      stages[s]!.down(signals[s + 1]!, s === 0 ? output : signals[s]!, frames << s);
    }
  }

  reset(): void {
    for (const stage of this.stages) stage.reset();
  }
}
