import { StereoDelay } from '../core/delay-line.ts';
import { smoothingFactor } from '../dynamics/gain-computer.ts';
import { LookAhead } from '../dynamics/look-ahead.ts';
import { Oversampler, oversamplingLatency } from './oversampling.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';

/** The envelope looks ahead, holds and averages over this, seconds: two waves of the lowest source, 500 Hz, and more. */
const ENVELOPE_SECONDS = 0.004;
/** Below this level (-200 dB) the harmonics fade away. */
const FLOOR = 1e-10;
/** Time over which the correlation of the harmonics with their source is measured, seconds. */
const LEARNING_SECONDS = 0.05;
/** Smoothing of the learned share, seconds: removes ripple, which would distort the sound. */
const SETTLING_SECONDS = 0.01;
/** Averages below this are silence. */
const VANISHED = 1e-30;
/** Twice the rate is enough: a third power triples the highest frequency and what folds back stays above 20 kHz. */
const FACTOR = 2;

const latencyOf = (sampleRate: number): { readonly envelope: number; readonly oversampling: number } => ({
  envelope: Math.round(ENVELOPE_SECONDS * sampleRate),
  oversampling: oversamplingLatency(FACTOR, sampleRate),
});

export const harmonicsLatency = (sampleRate: number): number => {
  const { envelope, oversampling } = latencyOf(sampleRate);
  return envelope + oversampling;
};

/** One channel. */
class Voice {
  /** Logarithm of the level, then the envelope: never below the sound. */
  readonly envelope = new Float64Array(CONTROL_FRAMES);
  /** The sound over its envelope: from -1 to 1 at any level. */
  readonly unit = new Float64Array(CONTROL_FRAMES);
  readonly harmonics = new Float64Array(CONTROL_FRAMES);
  /** Averages of the harmonics times the unit sound, and of its square. */
  private common = 0;
  private square = 0;
  /** Share of the source that the harmonics still contain; its last value, and those of this block. */
  private share = 0;
  private readonly shares = new Float64Array(CONTROL_FRAMES);
  private readonly curve: LookAhead;
  private readonly oversampler: Oversampler;
  private readonly learning: number;
  private readonly settling: number;

  constructor(sampleRate: number) {
    this.curve = new LookAhead(latencyOf(sampleRate).envelope, Math.log(FLOOR));
    this.oversampler = new Oversampler(FACTOR, sampleRate);
    this.learning = smoothingFactor(LEARNING_SECONDS, sampleRate);
    this.settling = smoothingFactor(SETTLING_SECONDS, sampleRate);
  }

  control(): void {
    if (Math.abs(this.common) < VANISHED) this.common = 0;
    if (this.square < VANISHED) this.square = 0;
  }

  follow(band: Float64Array, frames: number): void {
    const { envelope } = this;
    for (let k = 0; k < frames; k++) envelope[k] = Math.log(Math.max(Math.abs(band[k]!), FLOOR));
    this.curve.process(envelope, frames);
    for (let k = 0; k < frames; k++) envelope[k] = Math.exp(envelope[k]!);
  }

  /** Second and third powers of the unit sound; `even` goes from 0 (third only) to 1 (second only). */
  generate(even: Ramp, frames: number, position: number): void {
    const { unit, harmonics, oversampler } = this;
    this.learn(even, frames, position);
    oversampler.up(unit, 0, frames);
    const { samples } = oversampler;
    const step = even.step / FACTOR;
    for (let i = 0; i < FACTOR * frames; i++) {
      const u = samples[i]!;
      const second = even.value + step * (FACTOR * position + i);
      samples[i] = u * u * (2 * second + 4 * (1 - second) * u);
    }
    oversampler.down(harmonics, frames);
  }

  /** With `unit` and `envelope` delayed like the harmonics: removes their share of the source, and sets the level. */
  finish(target: Float64Array, frames: number): void {
    const { unit, envelope, harmonics, shares } = this;
    for (let k = 0; k < frames; k++) target[k] = envelope[k]! * (harmonics[k]! - shares[k]! * unit[k]!);
  }

  reset(): void {
    this.common = this.square = this.share = 0;
    this.curve.reset();
    this.oversampler.reset();
  }

  private learn(even: Ramp, frames: number, position: number): void {
    const { unit, shares, learning, settling } = this;
    let { common, square, share } = this;
    for (let k = 0; k < frames; k++) {
      const u = unit[k]!;
      const second = even.value + even.step * (position + k);
      common += learning * (u * u * u * (2 * second + 4 * (1 - second) * u) - common);
      square += learning * (u * u - square);
      if (square > 0) share += settling * (common / square - share);
      shares[k] = share;
    }
    this.common = common;
    this.square = square;
    this.share = share;
  }
}

/**
 * Second and third harmonics of two channels, at a level that follows the level of the sound and with a mixture that
 * does not change with it: the sound is divided by its envelope, which looks ahead and is never below it, raised to
 * powers at twice the rate (a polynomial adds no harmonic beyond its degree), and multiplied by the envelope again. A sine
 * of peak A gives A cos(2x) and A cos(3x), the Chebyshev polynomials. What the powers contain of the sound itself is
 * measured by correlation and removed, so that only new tones are added, for any waveform.
 */
export class HarmonicGenerator {
  private readonly even: Ramp;
  private readonly left: Voice;
  private readonly right: Voice;
  private readonly bandDelay: StereoDelay;
  private readonly unitDelay: StereoDelay;
  private readonly envelopeDelay: StereoDelay;
  /** Frames of the control block already done. */
  private position = 0;

  /** @param even 0: third harmonic only; 1: second only */
  constructor(even: number, sampleRate: number) {
    const { envelope, oversampling } = latencyOf(sampleRate);
    this.even = new Ramp(even, sampleRate);
    this.left = new Voice(sampleRate);
    this.right = new Voice(sampleRate);
    this.bandDelay = new StereoDelay(envelope);
    this.unitDelay = new StereoDelay(oversampling);
    this.envelopeDelay = new StereoDelay(oversampling);
  }

  set(even: number): void {
    this.even.set(even);
  }

  control(): void {
    this.position = 0;
    this.even.control();
    this.left.control();
    this.right.control();
  }

  /** Replaces frames 0..frames-1 of the sound by its harmonics, late by `harmonicsLatency`. */
  process(bandLeft: Float64Array, bandRight: Float64Array, frames: number): void {
    const { left, right, even, position } = this;
    left.follow(bandLeft, frames);
    right.follow(bandRight, frames);
    this.bandDelay.process(bandLeft, bandRight, left.unit, right.unit, 0, frames);
    for (let k = 0; k < frames; k++) {
      left.unit[k]! /= left.envelope[k]!;
      right.unit[k]! /= right.envelope[k]!;
    }
    left.generate(even, frames, position);
    right.generate(even, frames, position);
    this.unitDelay.process(left.unit, right.unit, left.unit, right.unit, 0, frames);
    this.envelopeDelay.process(left.envelope, right.envelope, left.envelope, right.envelope, 0, frames);
    left.finish(bandLeft, frames);
    right.finish(bandRight, frames);
    this.position = position + frames;
  }

  reset(): void {
    this.even.reset();
    this.left.reset();
    this.right.reset();
    for (const delay of [this.bandDelay, this.unitDelay, this.envelopeDelay]) delay.reset();
    this.position = 0;
  }
}
