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
/** Moves of so many filters in series are heard unless they are slow. */
const MOVE_SECONDS = 0.06;

/** Gains for a decay time in seconds: full where the decay allows it, less where the all-pass would outlast its share. */
const gainOf = (length: number, amount: number, decay: number): number =>
  amount * Math.min(FULL_GAIN, 10 ** ((-3 * length) / (SHARE_OF_DECAY * decay)));

/** One all-pass and its gain. */
interface Stage {
  readonly length: number;
  readonly allPass: AllPass;
  readonly gain: Ramp;
}

/** All-passes in series on each of two channels, different ones: each echo becomes a cluster. Off, it is left out. */
export class Diffuser {
  private readonly left: readonly Stage[];
  private readonly right: readonly Stage[];

  /** @param amount 0 (off) .. 1 */
  constructor(amount: number, decay: number, sampleRate: number) {
    const stage = (length: number): Stage => ({
      length,
      allPass: new AllPass(primeFrom(length * sampleRate)),
      gain: new Ramp(gainOf(length, amount, decay), sampleRate, MOVE_SECONDS),
    });
    this.left = LENGTHS[0].map(stage);
    this.right = LENGTHS[1].map(stage);
  }

  set(amount: number, decay: number): void {
    for (const side of [this.left, this.right])
      for (const { length, gain } of side) gain.set(gainOf(length, amount, decay));
  }

  control(): void {
    for (const { gain } of this.left) if (!gain.settled) gain.control();
    for (const { gain } of this.right) if (!gain.settled) gain.control();
  }

  /** Frames 0..count-1 in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    for (const { allPass, gain } of this.left) allPass.process(left, count, gain, position);
    for (const { allPass, gain } of this.right) allPass.process(right, count, gain, position);
  }

  /** Forgets the sound, not the settings. */
  clear(): void {
    for (const { allPass } of this.left) allPass.clear();
    for (const { allPass } of this.right) allPass.clear();
  }

  reset(): void {
    this.clear();
    for (const { gain } of this.left) gain.reset();
    for (const { gain } of this.right) gain.reset();
  }
}

/** Most that any frequency is held back, samples: the greatest group delays, (1 + g) / (1 - g) of each length, together. */
export const diffuserDelay = (amount: number, decay: number, sampleRate: number): number => {
  const held = (length: number): number => {
    const gain = gainOf(length, amount, decay);
    return (length * (1 + gain)) / (1 - gain);
  };
  const ofSide = (side: readonly number[]): number => side.reduce((sum, length) => sum + held(length), 0);
  return Math.ceil(sampleRate * Math.max(...LENGTHS.map(ofSide)));
};
