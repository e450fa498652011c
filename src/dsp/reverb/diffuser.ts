import { AllPass } from '../filters/all-pass.ts';
import { primeFrom } from './primes.ts';
import { Ramp } from '../core/ramp.ts';

/** Lengths of the all-passes in series, seconds, for the left and the right side. */
const LENGTHS = [
  [0.0014, 0.0023, 0.0033, 0.0059, 0.0086, 0.0151],
  [0.0015, 0.0024, 0.0031, 0.0061, 0.0083, 0.0157],
] as const;
/** Gain of an all-pass at full diffusion. */
const FULL_GAIN = 0.7;
/** An all-pass alone falls by 60 dB in at most this part of the reverb's decay time. */
const SHARE_OF_DECAY = 0.3;
/** Smoothing of the gains: quick moves of this many filters in series are audible. */
const MOVE_SECONDS = 0.06;

/** Gains for a decay time in seconds: full where the decay allows it, less where the all-pass would outlast its share. */
const gainOf = (length: number, amount: number, decay: number): number =>
  amount * Math.min(FULL_GAIN, 10 ** ((-3 * length) / (SHARE_OF_DECAY * decay)));

/**
 * What is left of a sound after a delay of `length` seconds in this decay. With it the tail that remains when the decay is
 * taken off has passed true all-passes; without it their delays would be heard in the tail as repetitions.
 */
const keepOf = (length: number, decay: number): number => 10 ** ((-3 * length) / decay);

/** One all-pass with its gain and loss. */
export class Stage {
  private readonly allPass: AllPass;
  private readonly gain: Ramp;
  private readonly keep: Ramp;

  constructor(
    private readonly length: number,
    amount: number,
    decay: number,
    sampleRate: number,
  ) {
    this.allPass = new AllPass(primeFrom(length * sampleRate));
    this.gain = new Ramp(gainOf(length, amount, decay), sampleRate, MOVE_SECONDS);
    this.keep = new Ramp(keepOf(length, decay), sampleRate, MOVE_SECONDS);
  }

  set(amount: number, decay: number): void {
    this.gain.set(gainOf(this.length, amount, decay));
    this.keep.set(keepOf(this.length, decay));
  }

  control(): void {
    if (!this.gain.settled) this.gain.control();
    if (!this.keep.settled) this.keep.control();
  }

  process(samples: Float64Array, count: number, position: number): void {
    this.allPass.process(samples, count, this.gain, this.keep, position);
  }

  clear(): void {
    this.allPass.clear();
  }

  reset(): void {
    this.clear();
    this.gain.reset();
    this.keep.reset();
  }
}

/** All-passes in series on each of two channels, different ones: each echo becomes a cluster. */
export class Diffuser {
  private readonly left: readonly Stage[];
  private readonly right: readonly Stage[];

  /** @param amount 0 (off) .. 1 */
  constructor(amount: number, decay: number, sampleRate: number) {
    const stage = (length: number): Stage => new Stage(length, amount, decay, sampleRate);
    this.left = LENGTHS[0].map(stage);
    this.right = LENGTHS[1].map(stage);
  }

  set(amount: number, decay: number): void {
    for (const side of [this.left, this.right]) for (const stage of side) stage.set(amount, decay);
  }

  control(): void {
    for (const stage of this.left) stage.control();
    for (const stage of this.right) stage.control();
  }

  /** Frames 0..count-1 in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    for (const stage of this.left) stage.process(left, count, position);
    for (const stage of this.right) stage.process(right, count, position);
  }

  /** Forgets the sound, not the settings. */
  clear(): void {
    for (const stage of this.left) stage.clear();
    for (const stage of this.right) stage.clear();
  }

  reset(): void {
    for (const stage of this.left) stage.reset();
    for (const stage of this.right) stage.reset();
  }
}

/** Largest delay of any frequency, samples: the greatest group delays, (1 + g) / (1 - g) of each length, together. */
export const diffuserDelay = (amount: number, decay: number, sampleRate: number): number => {
  const held = (length: number): number => {
    const gain = gainOf(length, amount, decay);
    return (length * (1 + gain)) / (1 - gain);
  };
  const ofSide = (side: readonly number[]): number => side.reduce((sum, length) => sum + held(length), 0);
  return Math.ceil(sampleRate * Math.max(...LENGTHS.map(ofSide)));
};

/** Power gain for noise, mean of both sides: of each all-pass g^2 + k^2 (1 - g^2)^2 / (1 - g^2 k^2), the sum of its squared echoes. */
export const diffuserPower = (amount: number, decay: number): number => {
  const powerOf = (length: number): number => {
    const g2 = gainOf(length, amount, decay) ** 2;
    const k2 = keepOf(length, decay) ** 2;
    return g2 + (k2 * (1 - g2) ** 2) / (1 - g2 * k2);
  };
  const [left, right] = LENGTHS.map((side) => side.reduce((product, length) => product * powerOf(length), 1));
  return (left! + right!) / 2;
};
