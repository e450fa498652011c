import { correlate } from '../../audio/correlate.ts';
import { kaiser } from '../../audio/kaiser.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';

/** Steps of the finest grid on which values between samples are computed. */
const PHASES = 8;

/** Computes values between samples: a sinc under a Kaiser window. */
interface Interpolator {
  /** Samples on either side of an instant that make up the value there; even. */
  readonly reach: number;
  /** Row p weighs the samples from reach - 1 before to reach after the one that the instant follows by p / PHASES. */
  readonly rows: Float64Array;
  /** The row of the value half-way between two samples. */
  readonly halfway: Float64Array;
}

const interpolatorOf = (reach: number, beta: number): Interpolator => {
  const taps = 2 * reach;
  const rows = new Float64Array(PHASES * taps);
  for (let phase = 1; phase < PHASES; phase++)
    for (let tap = 0; tap < taps; tap++) {
      const u = phase / PHASES - (tap - reach + 1);
      rows[phase * taps + tap] = (Math.sin(Math.PI * u) / (Math.PI * u)) * kaiser(u / reach, beta);
    }
  rows[reach - 1] = 1;
  return { reach, rows, halfway: rows.slice((PHASES / 2) * taps, (PHASES / 2 + 1) * taps) };
};

/** True-peak meters differ most in how steep their interpolator’s low-pass is: a steep and a gentle one. */
const SHARP = interpolatorOf(32, 6.5);
const GENTLE = interpolatorOf(10, 5);

/**
 * Where the sharp interpolator reads more than the gentle one, something lies near half the rate, and one that is sharper
 * still reads more again: by about this share of the difference (found on bursts at half the rate), up to 0.4 dB.
 */
const BEYOND = 0.35;
const MOST_BEYOND = 0.047;

const REACH = SHARP.reach;
const TAPS = 2 * REACH;

/** Samples from a sample to the report of its peak. */
export const TRUE_PEAK_LATENCY = REACH;

/** No value between samples is greater than this times the greatest sample within REACH of it. */
const BOUND = SHARP.halfway.reduce((sum, weight) => sum + Math.abs(weight), 0);

/**
 * Least part of a greatest value M that a point of the half-sample grid has. A signal limited to b cycles a sample
 * is at least M cos(2 pi b d) at a distance d from its greatest value (Duffin and Schaeffer 1938); d is 1/4 and b 0.58,
 * where the gentle interpolator's stop band begins.
 */
const SHARE = Math.cos((2 * Math.PI * 0.58) / 4) - 0.01;

/** Top of the parabola through three values at equal distances, or the greatest of them if it lies beyond. */
const topOf = (before: number, middle: number, after: number): number => {
  const bend = 2 * middle - before - after;
  const lean = after - before;
  if (Math.abs(lean) >= 2 * bend) return Math.max(before, middle, after);
  return middle + (lean * lean) / (8 * bend);
};

/** Value of `samples` at `position`, in steps of 1 / PHASES. */
const valueAt = ({ reach, rows }: Interpolator, samples: Float64Array, position: number): number => {
  const phase = position % PHASES;
  const first = (position - phase) / PHASES - reach + 1;
  const taps = 2 * reach;
  const row = phase * taps;
  let even = 0;
  let odd = 0;
  for (let tap = 0; tap < taps; tap += 2) {
    even += rows[row + tap]! * samples[first + tap]!;
    odd += rows[row + tap + 1]! * samples[first + tap + 1]!;
  }
  return even + odd;
};

/**
 * Follows the true peak of one channel: for every sample the greatest size from half a sample before to one after it.
 * The half-sample grid shows the hills; each one high enough is climbed on a grid of eighths, and the parabola through
 * its last three points gives the top, within 0.01 dB up to 0.5 cycles a sample.
 */
export class TruePeakDetector {
  /** Samples before the block, then the block. */
  private readonly samples = new Float64Array(TAPS + CONTROL_FRAMES);
  /** Peaks by the gentle interpolator alone. */
  private readonly gentle = new Float64Array(CONTROL_FRAMES);
  /** Value half-way before each reported sample, and after the last. */
  private readonly halfway = new Float64Array(CONTROL_FRAMES + 1);

  /**
   * Takes input[0..count-1] and writes to peaks[0..count-1] the peaks of the samples TRUE_PEAK_LATENCY earlier. Peaks that
   * are not greater than `floor` may be reported as smaller.
   */
  process(input: Float64Array, count: number, floor: number, peaks: Float64Array): void {
    const { samples } = this;
    let greatest = 0;
    for (let k = 0; k < TAPS; k++) greatest = Math.max(greatest, Math.abs(samples[k]!));
    for (let k = 0; k < count; k++) {
      const x = input[k]!;
      samples[TAPS + k] = x;
      greatest = Math.max(greatest, Math.abs(x));
    }
    peaks.fill(0, 0, count);
    if (greatest * BOUND > floor) {
      this.gentle.fill(0, 0, count);
      this.raise(SHARP, count, floor, peaks);
      this.raise(GENTLE, count, floor, this.gentle);
      for (let k = 0; k < count; k++) {
        const sharp = peaks[k]!;
        const more = sharp - this.gentle[k]!;
        peaks[k] = more > 0 ? sharp + Math.min(BEYOND * more, MOST_BEYOND * sharp) : this.gentle[k]!;
      }
    }
    samples.copyWithin(0, count, TAPS + count);
  }

  reset(): void {
    this.samples.fill(0);
  }

  /** Raises `peaks` to the values of one interpolator. The reported sample k is samples[REACH + k]. */
  private raise(interpolator: Interpolator, count: number, floor: number, peaks: Float64Array): void {
    const { samples, halfway } = this;
    correlate(interpolator.halfway, samples, REACH - interpolator.reach, halfway, 1, count + 1);
    const least = SHARE * floor;
    for (let k = 0; k < count; k++) {
      const at = REACH + k;
      const here = samples[at]!;
      const before = halfway[k]!;
      const after = halfway[k + 1]!;
      let peak = Math.max(peaks[k]!, Math.abs(here));
      if (Math.abs(here) > least) peak = Math.max(peak, this.climb(interpolator, before, here, after, at * PHASES));
      if (Math.abs(after) > least) {
        const middle = at * PHASES + PHASES / 2;
        peak = Math.max(peak, this.climb(interpolator, here, after, samples[at + 1]!, middle));
      }
      peaks[k] = peak;
    }
  }

  /** Size of the top beside `here` at `position` (in eighths), between its neighbours half a sample away; else its own. */
  private climb(interpolator: Interpolator, before: number, here: number, after: number, position: number): number {
    const { samples } = this;
    const side = here < 0 ? -1 : 1;
    const height = side * here;
    if (side * before > height || side * after > height) return height;
    const left = side * valueAt(interpolator, samples, position - 2);
    const right = side * valueAt(interpolator, samples, position + 2);
    const step = left > height && left >= right ? -2 : right > height ? 2 : 0;
    const middle = step === 0 ? height : Math.max(left, right);
    const before8 = side * valueAt(interpolator, samples, position + step - 1);
    const after8 = side * valueAt(interpolator, samples, position + step + 1);
    return topOf(before8, middle, after8);
  }
}
