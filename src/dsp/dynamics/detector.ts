import { type BandSettings, FilterBand } from '../filters/filter-band.ts';
import { smoothingFactor } from './gain-computer.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';
import { Tilt } from '../filters/tilt.ts';

export interface DetectorSettings {
  /**
   * peak: the magnitude of each sample. rms: root of the one-pole average of the square. smooth peak: peaks that fall with
   * the time constant, then one pole of a fourth of it. A steady level reads the same in all; a sine reads its peak (at its
   * crests) in the first, 3.01 dB less in the second, less than its peak, and evenly, in the third (0.2 dB at 1 kHz and
   * 1.3 dB at 50 Hz with 10 ms, as it falls between crests). decoupled peak: as peak; the smoothing after it holds the crests
   * (see DecoupledSmoothing).
   */
  readonly kind: 'peak' | 'rms' | 'smooth peak' | 'decoupled peak';
  /** Time constant of the average or of the fall, seconds. */
  readonly seconds: number;
  /** Low cut of 12 dB an octave before the detector, Hz; null is off. */
  readonly lowCutHz: number | null;
  /** Tilt of highs against lows, dB; half of it on each side of 1 kHz. */
  readonly tiltDb: number;
  /** Band-pass before the detector; null is off. */
  readonly band: { readonly hz: number; readonly q: number } | null;
  /** True: detects mid instead of left, and side instead of right. */
  readonly midSide: boolean;
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

const bandPass = (band: DetectorSettings['band']): BandSettings => ({
  on: band !== null,
  shape: 'band-pass',
  order: 2,
  hz: band?.hz ?? 1000,
  gainDb: 0,
  q: band?.q ?? 1,
  channels: 'both',
  matched: true,
});

const load = (source: Float64Array | null, target: Float64Array, start: number, frames: number): void => {
  if (!source) target.fill(0, 0, frames);
  else for (let i = 0; i < frames; i++) target[i] = source[start + i]!;
};

const rectify = (samples: Float64Array, frames: number): void => {
  for (let i = 0; i < frames; i++) samples[i] = Math.abs(samples[i]!);
};

/** Ratio of the fall time to the smoothing time of a smooth peak. */
const SMOOTHER = 4;

/**
 * Level of two channels, sample by sample. It leaves magnitudes (peaks) or mean squares (rms) in `left` and `right`,
 * because a logarithm makes dB of both: dB = decibels * ln(value).
 */
export class LevelDetector {
  readonly left = new Float64Array(CONTROL_FRAMES);
  readonly right = new Float64Array(CONTROL_FRAMES);
  /** 0: left and right, 1: mid and side. */
  readonly midSide: Ramp;
  private readonly lowCut: FilterBand;
  private readonly tilt: Tilt;
  private readonly band: FilterBand;
  private kind: DetectorSettings['kind'] = 'peak';
  private rate = 1;
  private smoothing = 1;
  /** Mean square, or smoothed peak. */
  private meanLeft = 0;
  private meanRight = 0;
  private peakLeft = 0;
  private peakRight = 0;
  /** Frames of the control block already done. */
  private position = 0;

  constructor(
    private target: DetectorSettings,
    private readonly sampleRate: number,
  ) {
    this.midSide = new Ramp(target.midSide ? 1 : 0, sampleRate);
    this.lowCut = new FilterBand(lowCut(target.lowCutHz), sampleRate);
    this.tilt = new Tilt(target.tiltDb, sampleRate);
    this.band = new FilterBand(bandPass(target.band), sampleRate);
    this.adopt();
  }

  /** dB for each unit of the natural logarithm of a value in `left` or `right`. */
  get decibels(): number {
    return (this.kind === 'rms' ? 10 : 20) / Math.LN10;
  }

  set(target: DetectorSettings): void {
    this.target = target;
    this.midSide.set(target.midSide ? 1 : 0);
    this.lowCut.set(lowCut(target.lowCutHz));
    this.tilt.set(target.tiltDb);
    this.band.set(bandPass(target.band));
  }

  control(): void {
    this.position = 0;
    this.adopt();
    this.midSide.control();
    this.lowCut.control();
    this.tilt.control();
    this.band.control();
    if (this.meanLeft < SILENCE) this.meanLeft = 0;
    if (this.meanRight < SILENCE) this.meanRight = 0;
    if (this.peakLeft < SILENCE) this.peakLeft = 0;
    if (this.peakRight < SILENCE) this.peakRight = 0;
  }

  /** Levels of frames start..end-1 of the source (null: silence), put at indices 0..end-start-1. */
  process(sourceLeft: Float64Array | null, sourceRight: Float64Array | null, start: number, end: number): void {
    const frames = end - start;
    load(sourceLeft, this.left, start, frames);
    load(sourceRight, this.right, start, frames);
    this.encode(frames);
    this.lowCut.process(this.left, this.right, 0, frames);
    this.tilt.process(this.left, this.right, frames, this.position);
    this.band.process(this.left, this.right, 0, frames);
    if (this.kind === 'rms') this.average(frames);
    else {
      rectify(this.left, frames);
      rectify(this.right, frames);
      if (this.kind === 'smooth peak') this.smooth(frames);
    }
    this.position += frames;
  }

  reset(): void {
    this.adopt();
    this.midSide.reset();
    this.lowCut.reset();
    this.tilt.reset();
    this.band.reset();
    this.forget();
    this.position = 0;
  }

  private adopt(): void {
    const { kind, seconds } = this.target;
    if (kind !== this.kind) this.forget();
    this.kind = kind;
    this.rate = smoothingFactor(seconds, this.sampleRate);
    this.smoothing = smoothingFactor(seconds / SMOOTHER, this.sampleRate);
  }

  private forget(): void {
    this.meanLeft = this.meanRight = 0;
    this.peakLeft = this.peakRight = 0;
  }

  /** From left and right toward mid and side. */
  private encode(frames: number): void {
    const { left, right, position } = this;
    const { value, step, settled } = this.midSide;
    if (settled && value === 0) return;
    for (let i = 0; i < frames; i++) {
      const share = value + step * (position + i);
      const l = left[i]!;
      const r = right[i]!;
      left[i] = l + share * ((l + r) / 2 - l);
      right[i] = r + share * ((l - r) / 2 - r);
    }
  }

  private smooth(frames: number): void {
    const { left, right, rate, smoothing } = this;
    let { meanLeft, meanRight, peakLeft, peakRight } = this;
    for (let i = 0; i < frames; i++) {
      peakLeft = Math.max(left[i]!, peakLeft - rate * peakLeft);
      peakRight = Math.max(right[i]!, peakRight - rate * peakRight);
      meanLeft += smoothing * (peakLeft - meanLeft);
      meanRight += smoothing * (peakRight - meanRight);
      left[i] = meanLeft;
      right[i] = meanRight;
    }
    this.meanLeft = meanLeft;
    this.meanRight = meanRight;
    this.peakLeft = peakLeft;
    this.peakRight = peakRight;
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
