import type { LevelDetector } from './detector.ts';
import { smoothingFactor, reductionDb } from './gain-computer.ts';
import { Ramp } from './ramp.ts';

export interface ReductionSettings {
  readonly thresholdDb: number;
  /** 1 - 1 / ratio. */
  readonly slope: number;
  readonly kneeDb: number;
  /** The most that it turns down, dB. */
  readonly rangeDb: number;
  /** 0: each channel by itself; 1: both follow the one that is turned down more. */
  readonly link: number;
  readonly attackSeconds: number;
  readonly releaseSeconds: number;
}

/** Gain reduction below this, dB, has ended: the gain is exactly 1 again. */
const RELEASED = 1e-9;
/** Natural logarithm of the gain of 1 dB. */
const NEPERS = Math.LN10 / 20;

/**
 * From detector values to gains for two channels: gain computer, stereo link, then smoothing of the gain reduction in
 * dB by one pole that takes the attack time while the reduction rises and the release time while it falls ("branching"
 * in Giannoulis, Massberg and Reiss 2012), so that each time is what its label says: 63.2 % of the way.
 */
export class GainReduction {
  /** Gain reduction at the end of the last frames, dB, 0 or more. */
  left = 0;
  right = 0;
  private attack = 0;
  private release = 0;
  private readonly threshold: Ramp;
  private readonly slope: Ramp;
  private readonly knee: Ramp;
  private readonly range: Ramp;
  private readonly link: Ramp;
  private readonly ramps: readonly Ramp[];
  /** True when both channels are turned down alike, so that one computation serves both. */
  private linked = false;
  /** Detector value up to which nothing is turned down in this control block: spares the logarithm. */
  private quiet = 0;
  /** Frames of the control block already done. */
  private position = 0;

  constructor(
    private settings: ReductionSettings,
    private readonly detector: LevelDetector,
    private readonly sampleRate: number,
  ) {
    this.threshold = new Ramp(settings.thresholdDb, sampleRate);
    this.slope = new Ramp(settings.slope, sampleRate);
    this.knee = new Ramp(settings.kneeDb, sampleRate);
    this.range = new Ramp(settings.rangeDb, sampleRate);
    this.link = new Ramp(settings.link, sampleRate);
    this.ramps = [this.threshold, this.slope, this.knee, this.range, this.link];
  }

  set(settings: ReductionSettings): void {
    this.settings = settings;
    this.threshold.set(settings.thresholdDb);
    this.slope.set(settings.slope);
    this.knee.set(settings.kneeDb);
    this.range.set(settings.rangeDb);
    this.link.set(settings.link);
  }

  /** Call after the detector's own `control`. */
  control(): void {
    const { link, settings, sampleRate } = this;
    this.position = 0;
    for (const ramp of this.ramps) ramp.control();
    this.attack = smoothingFactor(settings.attackSeconds, sampleRate);
    this.release = smoothingFactor(settings.releaseSeconds, sampleRate);
    if (this.left < RELEASED) this.left = 0;
    if (this.right < RELEASED) this.right = 0;
    this.linked = link.settled && link.value === 1 && Math.abs(this.left - this.right) < RELEASED;
    this.quiet = this.quietLevel();
  }

  /** Replaces the values that the detector left for `frames` frames by linear gains. */
  process(frames: number): void {
    const { left, right } = this.detector;
    if (this.linked) {
      for (let k = 0; k < frames; k++) left[k] = Math.max(left[k]!, right[k]!);
      this.toReduction(left, frames);
      this.left = this.right = this.toGain(left, frames, this.left);
      for (let k = 0; k < frames; k++) right[k] = left[k]!;
    } else {
      this.toReduction(left, frames);
      this.toReduction(right, frames);
      this.mix(frames);
      this.left = this.toGain(left, frames, this.left);
      this.right = this.toGain(right, frames, this.right);
    }
    this.position += frames;
  }

  reset(): void {
    for (const ramp of this.ramps) ramp.reset();
    this.left = this.right = 0;
    this.position = 0;
  }

  private quietLevel(): number {
    const { threshold, knee, slope, detector } = this;
    if (slope.settled && slope.value === 0) return Infinity;
    // Threshold and knee move along straight lines, so that the lowest onset is at one of the ends; 1e-6 is for rounding.
    const onset = Math.min(threshold.value - knee.value / 2, threshold.end - knee.end / 2);
    return Math.exp((onset - 1e-6) / detector.decibels);
  }

  /** Turns detector values into the static gain reduction, dB, in place. */
  private toReduction(levels: Float64Array, frames: number): void {
    const { quiet, position } = this;
    const { decibels } = this.detector;
    const { value: threshold, step: thresholdStep } = this.threshold;
    const { value: slope, step: slopeStep } = this.slope;
    const { value: knee, step: kneeStep } = this.knee;
    const { value: range, step: rangeStep } = this.range;
    for (let k = 0; k < frames; k++) {
      const level = levels[k]!;
      if (level <= quiet) {
        levels[k] = 0;
        continue;
      }
      const moved = position + k;
      const over = decibels * Math.log(level) - (threshold + thresholdStep * moved);
      const reduction = reductionDb(over, slope + slopeStep * moved, knee + kneeStep * moved);
      levels[k] = Math.min(reduction, range + rangeStep * moved);
    }
  }

  /** Moves each channel's reduction toward the larger of the two. */
  private mix(frames: number): void {
    const { left, right } = this.detector;
    const { value, step } = this.link;
    for (let k = 0; k < frames; k++) {
      const link = value + step * (this.position + k);
      const most = Math.max(left[k]!, right[k]!);
      left[k]! += link * (most - left[k]!);
      right[k]! += link * (most - right[k]!);
    }
  }

  /** Smooths the reduction on from where it stood, and turns it into a linear gain in place. Returns where it ends. */
  private toGain(levels: Float64Array, frames: number, from: number): number {
    const { attack, release } = this;
    let reduction = from;
    for (let k = 0; k < frames; k++) {
      const target = levels[k]!;
      reduction += (target > reduction ? attack : release) * (target - reduction);
      levels[k] = reduction === 0 ? 1 : Math.exp(-NEPERS * reduction);
    }
    return reduction;
  }
}
