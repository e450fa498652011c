import { type BandSettings, FilterBand } from './filter-band.ts';
import { smoothingFactor } from './gain-computer.ts';
import { CONTROL_FRAMES } from './processor.ts';

export interface DetectorSettings {
  /** peak: the magnitude of each sample. rms: root of the one-pole average of the square. A steady level reads the same
   * in both; a sine reads its peak (at its crests) in one and 3.01 dB less in the other. */
  readonly kind: 'peak' | 'rms';
  /** Time constant of the average, seconds. */
  readonly rmsSeconds: number;
  /** Low cut of 12 dB an octave before the detector, Hz; null is off. */
  readonly lowCutHz: number | null;
}

/** A mean square below this (-300 dB) is silence. */
const SILENCE = 1e-30;

const lowCut = (hz: number | null): BandSettings => ({
  on: hz !== null,
  shape: 'low cut',
  order: 2,
  hz: hz ?? 20,
  gainDb: 0,
  q: Math.SQRT1_2,
  channels: 'both',
});

const load = (source: Float64Array | null, target: Float64Array, start: number, frames: number): void => {
  if (!source) target.fill(0, 0, frames);
  else for (let i = 0; i < frames; i++) target[i] = source[start + i]!;
};

const rectify = (samples: Float64Array, frames: number): void => {
  for (let i = 0; i < frames; i++) samples[i] = Math.abs(samples[i]!);
};

/**
 * Level of two channels, sample by sample. It leaves magnitudes (peak) or mean squares (rms) in `left` and `right`,
 * because a logarithm makes dB of both: dB = decibels * ln(value).
 */
export class LevelDetector {
  readonly left = new Float64Array(CONTROL_FRAMES);
  readonly right = new Float64Array(CONTROL_FRAMES);
  private readonly filter: FilterBand;
  private squares = false;
  private rate = 1;
  private meanLeft = 0;
  private meanRight = 0;

  constructor(
    private target: DetectorSettings,
    private readonly sampleRate: number,
  ) {
    this.filter = new FilterBand(lowCut(target.lowCutHz), sampleRate);
    this.adopt();
  }

  /** dB for each unit of the natural logarithm of a value in `left` or `right`. */
  get decibels(): number {
    return (this.squares ? 10 : 20) / Math.LN10;
  }

  set(target: DetectorSettings): void {
    this.target = target;
    this.filter.set(lowCut(target.lowCutHz));
  }

  control(): void {
    this.adopt();
    this.filter.control();
    if (this.meanLeft < SILENCE) this.meanLeft = 0;
    if (this.meanRight < SILENCE) this.meanRight = 0;
  }

  /** Levels of frames start..end-1 of the source (null: silence), put at indices 0..end-start-1. */
  process(sourceLeft: Float64Array | null, sourceRight: Float64Array | null, start: number, end: number): void {
    const frames = end - start;
    load(sourceLeft, this.left, start, frames);
    load(sourceRight, this.right, start, frames);
    this.filter.process(this.left, this.right, 0, frames);
    if (this.squares) this.average(frames);
    else {
      rectify(this.left, frames);
      rectify(this.right, frames);
    }
  }

  reset(): void {
    this.adopt();
    this.filter.reset();
    this.meanLeft = this.meanRight = 0;
  }

  private adopt(): void {
    const squares = this.target.kind === 'rms';
    if (squares !== this.squares) this.meanLeft = this.meanRight = 0;
    this.squares = squares;
    this.rate = smoothingFactor(this.target.rmsSeconds, this.sampleRate);
  }

  private average(frames: number): void {
    const { left, right, rate } = this;
    let meanLeft = this.meanLeft;
    let meanRight = this.meanRight;
    for (let i = 0; i < frames; i++) {
      meanLeft += rate * (left[i]! * left[i]! - meanLeft);
      meanRight += rate * (right[i]! * right[i]! - meanRight);
      left[i] = meanLeft;
      right[i] = meanRight;
    }
    this.meanLeft = meanLeft;
    this.meanRight = meanRight;
  }
}
