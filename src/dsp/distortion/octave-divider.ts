import { smoothingFactor } from '../dynamics/gain-computer.ts';
import type { Quadrature } from '../filters/quadrature.ts';

/** Time constant of the means that level and frequency are read from, seconds. */
const MEAN_SECONDS = 0.015;
/** A squared size below this (-300 dB) has no phase. */
const NOTHING = 1e-30;

/**
 * Halves the frequency of a quadrature pair. The pair is a number that turns once a period; its square root
 * turns half as fast. A number has two roots: the one nearer to the root before is taken, so that the divider passes from
 * one period to the next without a step. Only square roots are needed, so that every JavaScript engine computes the same.
 */
export class OctaveDivider {
  /** Root of the mean square of the pair's size at the end of the last frames: the peak level of a sine. */
  level = 0;
  private readonly rate: number;
  private power = 0;
  private turning = 0;
  private previousReal = 0;
  private previousImaginary = 0;
  private rootReal = 1;
  private rootImaginary = 0;

  constructor(private readonly sampleRate: number) {
    this.rate = smoothingFactor(MEAN_SECONDS, sampleRate);
  }

  /** Mean frequency of the pair, weighted by power, Hz: that of a sine, the strongest part of a mixture. */
  get hz(): number {
    return this.power > NOTHING ? (this.turning / this.power) * (this.sampleRate / (2 * Math.PI)) : 0;
  }

  /** Writes `count` frames of the halved signal, as loud as the pair. */
  process({ real, imaginary }: Quadrature, out: Float64Array, count: number): void {
    const { rate } = this;
    let { power, turning, previousReal, previousImaginary, rootReal, rootImaginary } = this;
    for (let i = 0; i < count; i++) {
      const re = real[i]!;
      const im = imaginary[i]!;
      const square = re * re + im * im;
      power += rate * (square - power);
      turning += rate * (previousReal * im - previousImaginary * re - turning);
      previousReal = re;
      previousImaginary = im;
      if (square < NOTHING) {
        out[i] = 0;
        continue;
      }
      const cos = re / Math.sqrt(square);
      let nextReal = Math.sqrt(Math.max(0, (1 + cos) / 2));
      let nextImaginary = Math.sqrt(Math.max(0, (1 - cos) / 2));
      if (im < 0) nextImaginary = -nextImaginary;
      if (nextReal * rootReal + nextImaginary * rootImaginary < 0) {
        nextReal = -nextReal;
        nextImaginary = -nextImaginary;
      }
      rootReal = nextReal;
      rootImaginary = nextImaginary;
      out[i] = Math.sqrt(power) * rootReal;
    }
    this.power = power;
    this.turning = turning;
    this.previousReal = previousReal;
    this.previousImaginary = previousImaginary;
    this.rootReal = rootReal;
    this.rootImaginary = rootImaginary;
    this.level = Math.sqrt(power);
  }

  flush(): void {
    if (this.power < NOTHING) this.power = this.turning = 0;
  }

  clear(): void {
    this.level = this.power = this.turning = this.previousReal = this.previousImaginary = this.rootImaginary = 0;
    this.rootReal = 1;
  }
}

/** Samples until the level has fallen by `db` dB after the pair has ended. */
export const dividerTail = (db: number, sampleRate: number): number =>
  Math.ceil((db / 10) * Math.LN10 * MEAN_SECONDS * sampleRate);
