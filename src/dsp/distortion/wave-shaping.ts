import {
  type CurveIntegral,
  integralAt,
  integralOf,
  meanBetween,
  risingMeanBetween,
  type SecondIntegral,
  secondIntegralAt,
  secondIntegralOf,
  twiceWithinCell,
  withinCell,
} from './averaged-curve.ts';
import { gainOf } from '../../audio/decibels.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';
import { CELLS_PER_UNIT, makeUp, placeOf, REACH, valueAt, type ShapingCurve } from './shaping-curve.ts';

/** Control blocks that a change of curve is spread over: 21 ms at 48 kHz. */
const FADE_BLOCKS = 16;

/** Settings of a wave shaper. */
export interface Shaping {
  /** Index into the curves. */
  readonly curve: number;
  readonly driveDb: number;
  /** Added to the driven signal, in units of the curve's input. */
  readonly bias: number;
  /** Part of the level compensation in force, 0..1. */
  readonly compensation: number;
}

/** One running curve: x -> gain (curve(drive x + bias) - curve(bias)), moving in straight lines within a control block. */
class Shaper {
  private drive = 1;
  private bias = 0;
  private gain = 1;
  private nextDrive = 1;
  private nextBias = 0;
  private nextGain = 1;
  /** Bias at the last sample before the control block, and at the last but one. */
  private biasBefore = 0;
  private biasTwoBefore = 0;
  private readonly integral: CurveIntegral;
  private readonly second: SecondIntegral;

  constructor(
    private readonly curve: ShapingCurve,
    private readonly factor: number,
  ) {
    this.integral = integralOf(curve);
    this.second = secondIntegralOf(curve, this.integral);
  }

  /** Input of the curve for sample `k` of the control block. */
  inputOf(sample: number, k: number): number {
    const frames = CONTROL_FRAMES * this.factor;
    const drive = this.drive + ((this.nextDrive - this.drive) / frames) * k;
    return drive * sample + (this.bias + ((this.nextBias - this.bias) / frames) * k);
  }

  /** Sets the values at the end of the control block that starts now. */
  glide(drive: number, bias: number, compensation: number): void {
    this.settle();
    this.nextDrive = drive;
    this.nextBias = bias;
    this.nextGain = compensation === 0 ? 1 : makeUp(this.curve, drive, bias) ** compensation;
  }

  /** Ends the glide at its target. */
  settle(): void {
    const step = (this.nextBias - this.bias) / (CONTROL_FRAMES * this.factor);
    this.biasBefore = this.nextBias - step;
    this.biasTwoBefore = this.nextBias - 2 * step;
    this.drive = this.nextDrive;
    this.bias = this.nextBias;
    this.gain = this.nextGain;
  }

  /** Sets it at once, as if it had always been so. */
  jump(drive: number, bias: number, compensation: number): void {
    this.glide(drive, bias, compensation);
    this.settle();
    this.biasBefore = this.biasTwoBefore = bias;
  }

  process(samples: Float64Array, count: number, position: number): void {
    const { curve, drive, bias, gain } = this;
    const frames = CONTROL_FRAMES * this.factor;
    const driveStep = (this.nextDrive - drive) / frames;
    const biasStep = (this.nextBias - bias) / frames;
    const gainStep = (this.nextGain - gain) / frames;
    if (driveStep === 0 && biasStep === 0 && gainStep === 0) {
      const rest = valueAt(curve, bias);
      for (let i = 0; i < count; i++) samples[i] = gain * (valueAt(curve, drive * samples[i]! + bias) - rest);
      return;
    }
    for (let i = 0, k = position; i < count; i++, k++) {
      const offset = bias + biasStep * k;
      const x = (drive + driveStep * k) * samples[i]! + offset;
      samples[i] = (gain + gainStep * k) * (valueAt(curve, x) - valueAt(curve, offset));
    }
  }

  /**
   * As `process`, with the mean of the curve on the way to each input and on from it instead of its value, under a weight
   * that rises to the input and falls behind it (second-order antiderivative anti-aliasing; Parker, Zavalishin and Le Bivic,
   * DAFx 2016; Bilbao, Esqueda, Parker and Valimaki, IEEE SPL 24(7), 2017): a sample late. Both halves are integrated by
   * themselves, so nothing is divided by the distance of an input from the last but one.
   *
   * @param position samples of the control block done, a multiple of the factor
   * @param before the previous input of the curve, and `twoBefore` the one before that
   */
  processAveraged(samples: Float64Array, count: number, position: number, before: number, twoBefore: number): void {
    const { curve, integral, second, drive, bias, gain } = this;
    const frames = CONTROL_FRAMES * this.factor;
    const driveStep = (this.nextDrive - drive) / frames;
    const biasStep = (this.nextBias - bias) / frames;
    const gainStep = (this.nextGain - gain) / frames;
    let last = before;
    let lastIntegral = integralAt(curve, integral, last);
    let lastSecond = secondIntegralAt(curve, integral, second, last);
    const secondBefore = secondIntegralAt(curve, integral, second, twoBefore);
    let rising = risingMeanBetween(curve, twoBefore, secondBefore, last, lastIntegral, lastSecond);
    const still = valueAt(curve, bias);
    let offsetBefore = position > 0 ? bias + biasStep * (position - 1) : this.biasBefore;
    let offsetTwoBefore = position > 0 ? bias + biasStep * (position - 2) : this.biasTwoBefore;
    for (let i = 0, k = position; i < count; i++, k++) {
      const offset = bias + biasStep * k;
      const x = (drive + driveStep * k) * samples[i]! + offset;
      let newIntegral: number;
      let newSecond: number;
      if (x > -REACH && x < REACH) {
        // Both integrals of one cell: what the functions below do, with its place looked up once.
        const place = placeOf(x);
        const cell = place | 0;
        const u = place - cell;
        const whole = integral[cell]!;
        newIntegral = whole + withinCell(curve, 4 * cell, u) / CELLS_PER_UNIT;
        newSecond = second[cell]! + (u * whole + twiceWithinCell(curve, 4 * cell, u) / CELLS_PER_UNIT) / CELLS_PER_UNIT;
      } else {
        newIntegral = integralAt(curve, integral, x);
        newSecond = secondIntegralAt(curve, integral, second, x);
      }
      const mean = meanBetween(curve, last, lastIntegral, x, newIntegral);
      const newRising = risingMeanBetween(curve, last, lastSecond, x, newIntegral, newSecond);
      // The same mean of the bias, so that a moving bias alone stays silent.
      const rests = offset === offsetBefore && offset === offsetTwoBefore;
      const rest = rests ? still : valueAt(curve, (offsetTwoBefore + 4 * offsetBefore + offset) / 6);
      samples[i] = (gain + gainStep * k) * (rising + (mean - newRising) - rest);
      offsetTwoBefore = offsetBefore;
      offsetBefore = offset;
      last = x;
      lastIntegral = newIntegral;
      lastSecond = newSecond;
      rising = newRising;
    }
  }
}

/**
 * A memoryless curve with drive, bias and level compensation, for oversampled blocks of any number of channels. Silence
 * stays silence at any bias. All moves are smooth; a change of curve is a crossfade.
 */
export class WaveShaping {
  private readonly shapers: readonly Shaper[];
  private readonly spare: Float64Array;
  /** The last two inputs of the curve on each channel, where means are taken. */
  private readonly last = new Float64Array(2);
  private readonly lastButOne = new Float64Array(2);
  private readonly drive: Ramp;
  private readonly bias: Ramp;
  private readonly compensation: Ramp;
  private curve = 0;
  private nextCurve = 0;
  private wantedCurve = 0;
  /** Control blocks of a change of curve done; 0 when there is none. */
  private fadeBlock = 0;

  /**
   * @param factor samples a frame
   * @param averaged true to take means of the curve between samples, a sample late
   */
  constructor(
    curves: readonly ShapingCurve[],
    private readonly factor: number,
    private readonly averaged: boolean,
    sampleRate: number,
    shaping: Shaping,
  ) {
    this.shapers = curves.map((curve) => new Shaper(curve, factor));
    this.spare = new Float64Array(CONTROL_FRAMES * factor);
    this.drive = new Ramp(shaping.driveDb, sampleRate);
    this.bias = new Ramp(shaping.bias, sampleRate);
    this.compensation = new Ramp(shaping.compensation, sampleRate);
    this.wantedCurve = shaping.curve;
    this.reset();
  }

  set({ curve, driveDb, bias, compensation }: Shaping): void {
    this.drive.set(driveDb);
    this.bias.set(bias);
    this.compensation.set(compensation);
    this.wantedCurve = curve;
  }

  control(): void {
    const { drive, bias, compensation, shapers } = this;
    const resting = drive.settled && bias.settled && compensation.settled;
    drive.control();
    bias.control();
    compensation.control();
    if (this.curve !== this.nextCurve && ++this.fadeBlock === FADE_BLOCKS) this.curve = this.nextCurve;
    if (this.curve === this.nextCurve && this.nextCurve !== this.wantedCurve) this.startFade();
    if (resting) {
      shapers[this.curve]!.settle();
      shapers[this.nextCurve]!.settle();
    } else {
      this.glide(this.curve);
      if (this.nextCurve !== this.curve) this.glide(this.nextCurve);
    }
  }

  /**
   * Shapes samples[0..factor frames - 1] of channel 0 or 1 in place; `position` frames of the control block are already done.
   */
  process(samples: Float64Array, frames: number, position: number, channel: number): void {
    const { spare, factor, last, lastButOne } = this;
    const count = frames * factor;
    const from = position * factor;
    const before = last[channel]!;
    const twoBefore = lastButOne[channel]!;
    // All curves get the same input.
    const shaper = this.shapers[this.curve]!;
    last[channel] = shaper.inputOf(samples[count - 1]!, from + count - 1);
    lastButOne[channel] = shaper.inputOf(samples[count - 2]!, from + count - 2);
    const fading = this.curve !== this.nextCurve;
    if (fading) for (let i = 0; i < count; i++) spare[i] = samples[i]!;
    this.shape(this.curve, samples, count, from, before, twoBefore);
    if (!fading) return;
    this.shape(this.nextCurve, spare, count, from, before, twoBefore);
    const step = 1 / (FADE_BLOCKS * CONTROL_FRAMES * factor);
    const done = this.fadeBlock / FADE_BLOCKS;
    for (let i = 0; i < count; i++) samples[i]! += (done + step * (from + i)) * (spare[i]! - samples[i]!);
  }

  reset(): void {
    this.drive.reset();
    this.bias.reset();
    this.compensation.reset();
    this.curve = this.nextCurve = this.wantedCurve;
    this.jump(this.curve);
    this.last.fill(this.bias.value);
    this.lastButOne.fill(this.bias.value);
  }

  /** Runs one curve. */
  private shape(
    curve: number,
    samples: Float64Array,
    count: number,
    from: number,
    before: number,
    twoBefore: number,
  ): void {
    const shaper = this.shapers[curve]!;
    if (this.averaged) shaper.processAveraged(samples, count, from, before, twoBefore);
    else shaper.process(samples, count, from);
  }

  private startFade(): void {
    this.nextCurve = this.wantedCurve;
    this.fadeBlock = 0;
    this.jump(this.nextCurve);
  }

  /** Starts a curve where the control block starts. */
  private jump(curve: number): void {
    this.shapers[curve]!.jump(gainOf(this.drive.value), this.bias.value, this.compensation.value);
  }

  private glide(curve: number): void {
    this.shapers[curve]!.glide(gainOf(this.drive.end), this.bias.end, this.compensation.end);
  }
}
