import { DecoupledSmoothing } from './decoupled-smoothing.ts';
import type { LevelDetector } from './detector.ts';
import { outputSteepness, reductionDb, reductionFromOutputDb, smoothingFactor } from './gain-computer.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';

export interface ReductionSettings {
  readonly thresholdDb: number;
  /** 1 - 1 / ratio. */
  readonly slope: number;
  readonly kneeDb: number;
  /** Largest gain reduction, dB. */
  readonly rangeDb: number;
  /** 0: each channel by itself; 1: both follow the one with more reduction. */
  readonly link: number;
  readonly attackSeconds: number;
  readonly releaseSeconds: number;
  /** How long the reduction stays after its last peak before it is released. */
  readonly holdSeconds: number;
  /** True: the release slows down, up to SLOW times, the longer the reduction has lasted. */
  readonly autoRelease: boolean;
  /** True: feedback topology: the detector follows the output, whose levels lie on the output axis of the curve. */
  readonly feedBack: boolean;
  /** True: release and attack follow one another (see DecoupledSmoothing); fed back they branch all the same. */
  readonly decoupled: boolean;
}

/** How much slower an automatic release is after long reduction than after a short peak. */
const SLOW = 10;
/** Largest slope with feedback: a ratio of 20. */
export const FEED_BACK_SLOPE = 1 - 1 / 20;

/** Decoupled smoothing continues for this time after it was switched off, seconds, until the other detector has settled. */
const LINGER_SECONDS = 0.05;
/** Gain reduction below this, dB, has ended: the gain is exactly 1 again. */
const RELEASED = 1e-9;
/** Natural logarithm of the gain of 1 dB. */
const NEPERS = Math.LN10 / 20;

/** State of one channel besides its gain reduction. */
interface Memory {
  /** Average of the requested and applied reduction, dB. */
  average: number;
  /** Frames left to hold. */
  held: number;
}

/**
 * From detector values to gains for two channels: gain computer, stereo link, then smoothing of the gain reduction in
 * dB by one pole that takes the attack time while the reduction rises and the release time while it falls ("branching"
 * in Giannoulis, Massberg and Reiss 2012), so that each time constant is that of 63.2 % of the change. Or both one after
 * the other, "decoupled" there.
 *
 * With feedback the requested reduction grows while less is applied, which shortens both times by the ratio while the level
 * is above the threshold. The step is implicit, r += a (f(y) - r) / (1 + a f'(y)): it cannot overshoot at any ratio.
 */
export class GainReduction {
  /** Gain reduction at the end of the last frames, dB, 0 or more. */
  left = 0;
  right = 0;
  private attack = 0;
  private release = 0;
  private stepAttack = 0;
  private stepRelease = 0;
  private averaging = 0;
  private holdFrames = 0;
  private readonly memories: readonly [Memory, Memory] = [
    { average: 0, held: 0 },
    { average: 0, held: 0 },
  ];
  /** dB of reduction for each dB of output level at the current frame, left and right; used with feedback. */
  private readonly steepness = new Float64Array(2);
  /** Share of the detector signal that comes from the output: 0 feed-forward, 1 feedback; in between while the topology changes. */
  readonly back: Ramp;
  private readonly threshold: Ramp;
  private readonly slope: Ramp;
  private readonly knee: Ramp;
  private readonly range: Ramp;
  private readonly link: Ramp;
  private readonly ramps: readonly Ramp[];
  private readonly decoupled: readonly [DecoupledSmoothing, DecoupledSmoothing];
  private decouples = false;
  /** Requested reduction at the end of the last frames, dB, left and right; used where frames are divided. */
  private readonly asked = new Float64Array(2);
  /** Control blocks for which decoupled smoothing still continues. */
  private lingers = 0;
  /** True when both channels have equal reduction, so that one computation serves both. */
  private linked = false;
  /** Detector value up to which there is no reduction in this control block: saves the logarithm. */
  private quiet = 0;
  /** Frames of the control block already done. */
  private position = 0;

  /**
   * @param divisions smoothing steps per frame, whose mean is the frame's reduction: the requested reduction
   * is interpolated linearly, so that corners of fast settings alias far less than with one step per frame.
   * Hold, automatic release and feed-back are not divided.
   */
  constructor(
    private settings: ReductionSettings,
    private readonly detector: LevelDetector,
    private readonly sampleRate: number,
    private readonly divisions = 1,
  ) {
    this.threshold = new Ramp(settings.thresholdDb, sampleRate);
    this.slope = new Ramp(settings.slope, sampleRate);
    this.knee = new Ramp(settings.kneeDb, sampleRate);
    this.range = new Ramp(settings.rangeDb, sampleRate);
    this.link = new Ramp(settings.link, sampleRate);
    this.back = new Ramp(settings.feedBack ? 1 : 0, sampleRate);
    this.ramps = [this.threshold, this.slope, this.knee, this.range, this.link, this.back];
    this.decoupled = [new DecoupledSmoothing(sampleRate), new DecoupledSmoothing(sampleRate)];
  }

  set(settings: ReductionSettings): void {
    this.settings = settings;
    this.threshold.set(settings.thresholdDb);
    this.slope.set(settings.slope);
    this.knee.set(settings.kneeDb);
    this.range.set(settings.rangeDb);
    this.link.set(settings.link);
    this.back.set(settings.feedBack ? 1 : 0);
  }

  /** True when the detector follows the output, wholly or in part: frames must then be processed one by one. */
  get fedBack(): boolean {
    return !(this.back.settled && this.back.value === 0);
  }

  /** Call after the detector's own `control`. */
  control(): void {
    const { link, settings, sampleRate, divisions } = this;
    this.position = 0;
    for (const ramp of this.ramps) ramp.control();
    this.attack = smoothingFactor(settings.attackSeconds, sampleRate);
    this.release = smoothingFactor(settings.releaseSeconds, sampleRate);
    this.stepAttack = smoothingFactor(settings.attackSeconds, sampleRate * divisions);
    this.stepRelease = smoothingFactor(settings.releaseSeconds, sampleRate * divisions);
    this.averaging = smoothingFactor(SLOW * settings.releaseSeconds, sampleRate);
    this.holdFrames = Math.round(settings.holdSeconds * sampleRate);
    for (const memory of this.memories) {
      if (memory.average < RELEASED || !settings.autoRelease) memory.average = 0;
      if (memory.held > this.holdFrames) memory.held = this.holdFrames;
    }
    if (this.left < RELEASED) this.left = 0;
    if (this.right < RELEASED) this.right = 0;
    this.decouple();
    const alike = link.settled && link.value === 1 && Math.abs(this.left - this.right) < RELEASED;
    this.linked = alike && !this.decouples;
    this.quiet = this.quietLevel();
  }

  /** Replaces the values that the detector left for `frames` frames by linear gains. */
  process(frames: number): void {
    const { left, right } = this.detector;
    if (this.linked) {
      for (let k = 0; k < frames; k++) left[k] = Math.max(left[k]!, right[k]!);
      this.toReduction(left, 0, frames);
      this.left = this.right = this.toGain(left, 0, frames, this.left);
      this.memories[1].average = this.memories[0].average;
      this.memories[1].held = this.memories[0].held;
      this.asked[1] = this.asked[0]!;
      for (let k = 0; k < frames; k++) right[k] = left[k]!;
    } else {
      this.toReduction(left, 0, frames);
      this.toReduction(right, 1, frames);
      this.mix(frames);
      this.left = this.toGain(left, 0, frames, this.left);
      this.right = this.toGain(right, 1, frames, this.right);
    }
    this.position += frames;
  }

  reset(): void {
    for (const ramp of this.ramps) ramp.reset();
    this.left = this.right = 0;
    for (const memory of this.memories) memory.average = memory.held = 0;
    for (const smoothing of this.decoupled) smoothing.reset();
    this.asked.fill(0);
    this.decouples = false;
    this.lingers = 0;
    this.position = 0;
  }

  /** Switches the decoupled smoothing on or off, starting from the present reduction. */
  private decouple(): void {
    const { settings, decoupled, attack, release, averaging, holdFrames } = this;
    const began = this.decouples;
    const blocks = Math.ceil((LINGER_SECONDS * this.sampleRate) / CONTROL_FRAMES);
    this.lingers = settings.decoupled ? blocks : Math.max(0, this.lingers - 1);
    this.decouples = this.lingers > 0 && !this.fedBack;
    if (!this.decouples) return;
    if (!began) {
      decoupled[0].start(this.left);
      decoupled[1].start(this.right);
    }
    for (const smoothing of decoupled)
      smoothing.control(attack, release, holdFrames, settings.autoRelease ? averaging : 0);
  }

  private quietLevel(): number {
    const { threshold, knee, slope, detector } = this;
    if (slope.settled && slope.value === 0) return Infinity;
    // While the topology changes the reduction does not follow from the detector level alone.
    if (!this.back.settled) return 0;
    // Threshold and knee move along straight lines, so that the lowest onset is at one of the ends; 1e-6 is for rounding.
    const onset = Math.min(threshold.value - knee.value / 2, threshold.end - knee.end / 2);
    return Math.exp((onset - 1e-6) / detector.decibels);
  }

  /** Turns detector values into the static gain reduction, dB, in place. */
  private toReduction(levels: Float64Array, side: 0 | 1, frames: number): void {
    const { quiet, position } = this;
    const { decibels } = this.detector;
    const { fedBack } = this;
    const { value: threshold, step: thresholdStep } = this.threshold;
    const { value: slope, step: slopeStep } = this.slope;
    const { value: knee, step: kneeStep } = this.knee;
    const { value: range, step: rangeStep } = this.range;
    for (let k = 0; k < frames; k++) {
      const level = levels[k]!;
      if (level <= quiet) {
        levels[k] = 0;
        this.steepness[side] = 0;
        continue;
      }
      const moved = position + k;
      const over = decibels * Math.log(level) - (threshold + thresholdStep * moved);
      const most = range + rangeStep * moved;
      const slopeHere = slope + slopeStep * moved;
      const kneeHere = knee + kneeStep * moved;
      levels[k] = fedBack
        ? this.fromOutput(over, slopeHere, kneeHere, most, side, moved)
        : Math.min(most, reductionDb(over, slopeHere, kneeHere));
    }
  }

  /**
   * Requested reduction for a level detected after the gain, or partly so while the topology changes. It may be above
   * the range: a bound here would hide how steep the curve is, and the implicit step would overshoot.
   */
  private fromOutput(over: number, slope: number, knee: number, most: number, side: 0 | 1, moved: number): number {
    const share = this.back.value + this.back.step * moved;
    const given = side === 0 ? this.left : this.right;
    const heardDb = share === 1 ? -given : Math.log(1 + share * (Math.exp(-NEPERS * given) - 1)) / NEPERS;
    const overIn = over - heardDb;
    const limited = Math.min(slope, FEED_BACK_SLOPE);
    const fed = reductionFromOutputDb(overIn - given, limited, knee);
    this.steepness[side] = share * outputSteepness(overIn - given, limited, knee);
    return share === 1 ? fed : (1 - share) * Math.min(most, reductionDb(overIn, slope, knee)) + share * fed;
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

  /** Smooths the reduction, starting at its last value, and converts it to a linear gain in place. Returns the last value. */
  private toGain(levels: Float64Array, side: 0 | 1, frames: number, from: number): number {
    const { attack, release } = this;
    if (this.decouples) {
      const end = this.decoupled[side].process(levels, frames, from);
      for (let k = 0; k < frames; k++) levels[k] = levels[k] === 0 ? 1 : Math.exp(-NEPERS * levels[k]!);
      return end;
    }
    if (this.settings.autoRelease || this.fedBack || this.holdFrames > 0)
      return this.toGainWithMemory(levels, side, frames, from);
    if (this.divisions > 1) return this.toGainInSteps(levels, side, frames, from);
    let reduction = from;
    for (let k = 0; k < frames; k++) {
      const target = levels[k]!;
      reduction += (target > reduction ? attack : release) * (target - reduction);
      levels[k] = reduction === 0 ? 1 : Math.exp(-NEPERS * reduction);
    }
    return reduction;
  }

  /** The same with frames divided. */
  private toGainInSteps(levels: Float64Array, side: 0 | 1, frames: number, from: number): number {
    const { asked, divisions, stepAttack, stepRelease } = this;
    let reduction = from;
    let last = asked[side]!;
    for (let k = 0; k < frames; k++) {
      const next = levels[k]!;
      let sum = 0;
      for (let left = divisions - 1; left >= 0; left--) {
        const target = next - ((next - last) * left) / divisions;
        reduction += (target > reduction ? stepAttack : stepRelease) * (target - reduction);
        sum += reduction;
      }
      levels[k] = sum === 0 ? 1 : Math.exp((-NEPERS * sum) / divisions);
      last = next;
    }
    asked[side] = last;
    return reduction;
  }

  /** The same with hold, automatic release and feed-back. */
  private toGainWithMemory(levels: Float64Array, side: 0 | 1, frames: number, from: number): number {
    const { attack, release, averaging, holdFrames } = this;
    const { autoRelease } = this.settings;
    const steep = this.fedBack ? this.steepness[side]! : 0;
    const most = this.fedBack ? this.range.value + this.range.step * this.position : Infinity;
    let { average, held } = this.memories[side];
    let reduction = from;
    for (let k = 0; k < frames; k++) {
      const target = levels[k]!;
      if (target >= reduction) {
        held = holdFrames;
        reduction = Math.min(most, reduction + (attack / (1 + attack * steep)) * (target - reduction));
      } else if (held > 0) held--;
      else {
        const goal = autoRelease ? Math.max(target, Math.min(average, reduction)) : target;
        reduction += (release / (1 + release * steep)) * (goal - reduction);
      }
      if (autoRelease) average += averaging * (Math.min(target, reduction) - average);
      levels[k] = reduction === 0 ? 1 : Math.exp(-NEPERS * reduction);
    }
    this.memories[side].average = average;
    this.memories[side].held = held;
    return reduction;
  }
}
