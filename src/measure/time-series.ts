import { decibelsOf } from '../audio/decibels.ts';
import { SlidingMaximum } from '../dsp/core/sliding-maximum.ts';
import { lufsOf, MOMENTARY, momentaryPowers, SHORT_TERM, shortTermPowers } from './loudness/loudness.ts';
import type { Meter } from './meter.ts';
import { correlationOf, energyRatioDb } from './stereo/stereo.ts';

/** Seconds from one value of a series to the next. */
export const SERIES_HOP = 0.01;

/** A value that does not exist: the window is not full, or there is nothing in it. */
const NONE = Number.NaN;

/**
 * Figures over time, one value every 10 ms. Value n is that of the window which ends at (n + 1) x 10 ms; NaN where there
 * is none: before the window is full, in silence, and for stereo figures of any number of channels but two.
 */
export interface TimeSeries {
  /** Of the last 400 ms, LUFS. */
  readonly momentaryLufs: Float64Array;
  /** Of the last 3 s, LUFS. */
  readonly shortTermLufs: Float64Array;
  /** Of the last 400 ms, -1..+1. */
  readonly correlation: Float64Array;
  /** Of the last 400 ms, dB. */
  readonly sideToMidDb: Float64Array;
  /** Of these 10 ms, dBTP. */
  readonly truePeakDbtp: Float64Array;
  /** True peak of the last 3 s less their short-term loudness, dB; where that lies above -70 LUFS. */
  readonly psrDb: Float64Array;
  /** RMS of the last 400 ms, all channels together, dB. */
  readonly rmsDbfs: Float64Array;
}

/** Series of the sound in a meter with details. @throws RangeError for a meter without */
export function timeSeriesOf(meter: Meter): TimeSeries {
  const peaks = meter.truePeakSeries();
  if (!peaks) throw new RangeError('time series need a meter with details');
  const energy = meter.weightedEnergy();
  const { energy: plain, stereo } = meter.series();
  const count = plain.length;
  const loudness = (powers: Float64Array | null): Float64Array =>
    endingAt(count, powers ? powers.map((power) => (power > 0 ? lufsOf(power) : NONE)) : new Float64Array(0));
  const shortTermLufs = loudness(energy && shortTermPowers(energy));
  const windows = stereo && {
    left: slidingSums(stereo.left, MOMENTARY),
    right: slidingSums(stereo.right, MOMENTARY),
    cross: slidingSums(stereo.cross, MOMENTARY),
    mid: slidingSums(stereo.mid, MOMENTARY),
    side: slidingSums(stereo.side, MOMENTARY),
  };
  const stereoFigure = (figure: (n: number, sums: NonNullable<typeof windows>) => number | null): Float64Array =>
    endingAt(count, windows ? windows.left.map((_, n) => figure(n, windows) ?? NONE) : new Float64Array(0));
  const samples = (MOMENTARY * meter.sampleRate * meter.channels) / 100;
  return {
    momentaryLufs: loudness(energy && momentaryPowers(energy)),
    shortTermLufs,
    correlation: stereoFigure((n, { left, right, cross, mid, side }) =>
      correlationOf({ left: left[n]!, right: right[n]!, cross: cross[n]!, mid: mid[n]!, side: side[n]! }),
    ),
    sideToMidDb: stereoFigure((n, { mid, side }) => energyRatioDb(side[n]!, mid[n]!)),
    truePeakDbtp: peaks.map((peak) => (peak > 0 ? decibelsOf(peak) : NONE)),
    psrDb: psrOf(peaks, shortTermLufs),
    rmsDbfs: endingAt(
      count,
      slidingSums(plain, MOMENTARY).map((sum) => (sum > 0 ? 10 * Math.log10(sum / samples) : NONE)),
    ),
  };
}

function psrOf(peaks: Float64Array, shortTermLufs: Float64Array): Float64Array {
  const highest = peaks.slice();
  new SlidingMaximum(SHORT_TERM).process(highest, highest.length);
  return shortTermLufs.map((lufs, n) => (lufs > -70 ? decibelsOf(highest[n]!) - lufs : NONE));
}

/** Values of windows as a series of `count`: the first stands where its window is full. */
function endingAt(count: number, values: Float64Array): Float64Array {
  const out = new Float64Array(count).fill(NONE);
  out.set(values, Math.max(0, count - values.length));
  return out;
}

/**
 * Sum of every `length` successive values. Each is summed anew, as a running sum would keep the rounding error of the
 * loudest values for ever.
 */
export function slidingSums(values: Float64Array, length: number): Float64Array {
  const out = new Float64Array(Math.max(0, values.length - length + 1));
  for (let at = 0; at < out.length; at++) {
    let sum = 0;
    for (let n = at; n < at + length; n++) sum += values[n]!;
    out[at] = sum;
  }
  return out;
}
