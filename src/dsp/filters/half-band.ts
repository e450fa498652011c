import { correlate } from '../../audio/correlate.ts';
import { kaiser, kaiserBeta, kaiserStopBand, kaiserTaps } from '../../audio/kaiser.ts';

/**
 * Least attenuation that the stop band is designed for, dB. Kaiser's formulas promise up to 2 dB too much; 100 dB are
 * reached. Lengths are rounded up, and what that adds is used.
 */
const STOP_BAND_DB = 102;

/** Width of the transition between pass and stop band, radians a sample. */
const transitionOf = (pass: number): number => 2 * Math.PI * (0.5 - 2 * pass);

/**
 * Half-length m of the filter with 4 m - 1 taps that passes up to `pass` and stops from 1/2 - `pass` on, in parts of the
 * higher of its two rates. Even, so that the 2 m taps beside the middle fill register tiles of four.
 */
export const halfBandLength = (pass: number): number =>
  2 * Math.ceil((kaiserTaps(STOP_BAND_DB, transitionOf(pass)) + 1) / 8);

/**
 * Linear-phase half-band low-pass of 4 m - 1 taps (Kaiser window). Every second tap is 0 and the middle one is 1/2, so only
 * the 2 m others are returned; their sum is 1/2, which makes the gain at 0 Hz 1 and that at the higher Nyquist frequency 0.
 */
export const halfBandTaps = (pass: number): Float64Array => {
  const m = halfBandLength(pass);
  const beta = kaiserBeta(kaiserStopBand(4 * m - 1, transitionOf(pass)));
  const taps = Float64Array.from({ length: 2 * m }, (_, j) => {
    const k = 2 * j - 2 * m + 1; // odd distance from the middle
    return (Math.sin((Math.PI * k) / 2) / (Math.PI * k)) * kaiser(k / (2 * m - 1), beta);
  });
  const sum = taps.reduce((total, tap) => total + tap, 0);
  return taps.map((tap) => tap / (2 * sum));
};

/**
 * One doubling of the rate and one halving for one channel, through the same half-band filter.
 * There and back takes 2 m - 1 + `pad` samples of the lower rate, exactly, at every frequency.
 */
export class HalfBand {
  /** Half-length as from `halfBandLength`. */
  private readonly m: number;
  private readonly upTaps: Float64Array;
  private readonly downTaps: Float64Array;
  private readonly before: Float64Array;
  private readonly even: Float64Array;
  private readonly odd: Float64Array;

  /**
   * @param pass end of the pass band in parts of the higher rate
   * @param pad samples of the lower rate by which the way up is held back
   * @param maxFrames most frames of the lower rate in one call
   */
  constructor(
    pass: number,
    private readonly pad: number,
    maxFrames: number,
  ) {
    const m = halfBandLength(pass);
    this.m = m;
    this.downTaps = halfBandTaps(pass);
    this.upTaps = this.downTaps.map((tap) => 2 * tap);
    this.before = new Float64Array(2 * m - 1 + pad + maxFrames);
    this.even = new Float64Array(2 * m - 1 + maxFrames);
    this.odd = new Float64Array(m + maxFrames);
  }

  /** Doubles the rate: input[0..count-1] to output[0..2 count-1]. */
  up(input: Float64Array, output: Float64Array, count: number): void {
    const { before, m, pad } = this;
    const past = 2 * m - 1 + pad;
    for (let i = 0; i < count; i++) before[past + i] = input[i]!;
    correlate(this.upTaps, before, 0, output, 2, count);
    for (let i = 0; i < count; i++) output[2 * i + 1] = before[i + m]!;
    before.copyWithin(0, count, count + past);
  }

  /** Halves the rate: input[0..2 count-1] to output[0..count-1]. */
  down(input: Float64Array, output: Float64Array, count: number): void {
    const { even, odd, m } = this;
    const past = 2 * m - 1;
    for (let i = 0; i < count; i++) {
      even[past + i] = input[2 * i]!;
      odd[m + i] = input[2 * i + 1]!;
    }
    correlate(this.downTaps, even, 0, output, 1, count);
    for (let i = 0; i < count; i++) output[i]! += 0.5 * odd[i]!;
    even.copyWithin(0, count, count + past);
    odd.copyWithin(0, count, count + m);
  }

  reset(): void {
    this.before.fill(0);
    this.even.fill(0);
    this.odd.fill(0);
  }
}
