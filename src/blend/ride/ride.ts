import { lufsOf } from '../../measure/loudness/loudness.ts';

/** The task of a ride. */
export interface RideTask {
  /** Range in which the short-term loudness is to stay, LUFS. */
  readonly low: number;
  readonly high: number;
  /** Most that the fader moves, dB a second. */
  readonly rate: number;
}

/** Length of the steps of a ride, seconds: the 100 ms that short-term loudness is read at (EBU Tech 3341). */
export const RIDE_STEP = 0.1;
/** Steps in the window of short-term loudness, 3 s. */
const WINDOW = 30;
/** Gates of EBU Tech 3342: -70 LUFS, and 20 LU below the mean power of what is above that. Sound below them is not ridden. */
const ABSOLUTE_GATE = -70;
const RELATIVE_GATE = -20;
/** Rounds of correction; each removes most of the remaining deviation from the range. */
const ROUNDS = 80;
const SHARE = 0.6;
/** The range aimed at is narrower at each end by this, LU, or by a tenth of a narrow range: points are rounded, and moves are slow. */
const MARGIN = 0.25;

/** Loudness of each whole 3 s window of powers per 100 ms, at gains (dB) of the same steps; element n begins at step n. */
const windowsOf = (powers: Float64Array, gains: Float64Array): Float64Array => {
  const out = new Float64Array(Math.max(0, powers.length - WINDOW + 1));
  const ridden = powers.map((power, n) => power * 10 ** (gains[n]! / 10));
  for (let at = 0; at < out.length; at++) {
    let sum = 0;
    for (let n = at; n < at + WINDOW; n++) sum += ridden[n]!;
    out[at] = lufsOf(sum / WINDOW);
  }
  return out;
};

/** A window is ridden where at least this part of it is above the gates, or for a sparse path OF_FULLEST of what is in its fullest window. */
const FILLED = 0.5;
const OF_FULLEST = 0.9;

/** The windows and steps of a path that are ridden, from its loudness before any move. */
interface Gated {
  /** Windows above both gates that are full enough: a window that includes a gap is softer because of the gap. */
  readonly windows: readonly boolean[];
  /** Steps above the gates; the others are no reason to move. */
  readonly steps: readonly boolean[];
}

const gated = (powers: Float64Array): Gated => {
  const loudness = windowsOf(powers, new Float64Array(powers.length));
  const audible = [...loudness].filter((lufs) => lufs >= ABSOLUTE_GATE);
  const mean = audible.reduce((sum, lufs) => sum + 10 ** (lufs / 10), 0) / Math.max(1, audible.length);
  const gate = Math.max(ABSOLUTE_GATE, 10 * Math.log10(mean) + RELATIVE_GATE);
  const steps = [...powers].map((power) => lufsOf(power) >= gate);
  const filled = [...loudness].map((_, at) => steps.slice(at, at + WINDOW).filter(Boolean).length / WINDOW);
  const least = Math.min(FILLED, OF_FULLEST * filled.reduce((most, share) => Math.max(most, share), 0));
  return { windows: [...loudness].map((lufs, at) => lufs >= gate && filled[at]! >= least), steps };
};

/** The mean of the nearest curves above and below that nowhere move faster than `most` a step. */
const slowed = (gains: Float64Array, most: number): Float64Array => {
  const [over, under] = [gains.slice(), gains.slice()];
  for (let n = 1; n < gains.length; n++) {
    over[n] = Math.max(over[n]!, over[n - 1]! - most);
    under[n] = Math.min(under[n]!, under[n - 1]! + most);
  }
  for (let n = gains.length - 2; n >= 0; n--) {
    over[n] = Math.max(over[n]!, over[n + 1]! - most);
    under[n] = Math.min(under[n]!, under[n + 1]! + most);
  }
  return over.map((value, n) => (value + under[n]!) / 2);
};

/** The gain that brings a loudness back into a range, dB; 0 inside it. */
const lacks = (lufs: number, low: number, high: number): number =>
  lufs < low ? low - lufs : lufs > high ? high - lufs : 0;

/**
 * Gains, dB, of a fader for each 100 ms that keep the short-term loudness (3 s) of a sound within a range, moving no further than needed
 * and no faster than allowed. Windows that are below the gates, or include a gap, are not corrected; over them the fader follows from its neighbours.
 * @param powers K-weighted power of the sound in each 100 ms, as it is at the fader's standing level
 */
export const rideGains = (powers: Float64Array, { low, high, rate }: RideTask): Float64Array => {
  const margin = Math.min(MARGIN, (high - low) / 10);
  const { windows: counts, steps } = gated(powers);
  let gains: Float64Array = new Float64Array(powers.length);
  for (let round = 0; round < ROUNDS; round++) {
    const loudness = windowsOf(powers, gains);
    const asked = new Float64Array(powers.length);
    const weights = new Float64Array(powers.length);
    let isMet = true;
    loudness.forEach((lufs, at) => {
      if (!counts[at]) return;
      const lack = lacks(lufs, low + margin, high - margin);
      if (lack !== 0) isMet = false;
      // Steps in the middle of a window get the largest weight.
      for (let n = 0; n < WINDOW; n++) {
        const weight = steps[at + n] ? Math.min(n + 1, WINDOW - n) : 0;
        asked[at + n]! += weight * lack;
        weights[at + n]! += weight;
      }
    });
    if (isMet) return gains;
    const moved = gains.map((gain, n) => (weights[n] === 0 ? NaN : gain + (SHARE * asked[n]!) / weights[n]!));
    gains = slowed(bridged(moved), rate * RIDE_STEP);
  }
  return gains;
};

/** Missing values (NaN) are interpolated linearly between their neighbours; all missing: 0. */
const bridged = (values: Float64Array): Float64Array => {
  const known = [...values.keys()].filter((n) => !Number.isNaN(values[n]!));
  if (known.length === 0) return new Float64Array(values.length);
  let next = 0;
  return values.map((value, n) => {
    if (!Number.isNaN(value)) return value;
    while (next < known.length && known[next]! < n) next++;
    const [before, after] = [known[next - 1] ?? known[0]!, known[next] ?? known.at(-1)!];
    const share = after === before ? 0 : (n - before) / (after - before);
    return values[before]! + share * (values[after]! - values[before]!);
  });
};

/** Range of a path's short-term loudness. null: none of it is above the gates. */
export interface RideFigures {
  readonly lowestLufs: number | null;
  readonly highestLufs: number | null;
  /** Share of the ridden windows that lie within the range, 0..1. */
  readonly withinShare: number | null;
}

/**
 * Figures of windows of short-term loudness, one each 100 ms.
 * @param before powers before the ride: they say which windows count
 */
export const rideFigures = (before: Float64Array, powers: Float64Array, { low, high }: RideTask): RideFigures => {
  const still = new Float64Array(before.length);
  const { windows: counts } = gated(before);
  const kept = [...windowsOf(powers, still)].filter((_, n) => counts[n]);
  if (kept.length === 0) return { lowestLufs: null, highestLufs: null, withinShare: null };
  return {
    lowestLufs: kept.reduce((a, b) => Math.min(a, b)),
    highestLufs: kept.reduce((a, b) => Math.max(a, b)),
    withinShare: kept.filter((lufs) => lufs >= low && lufs <= high).length / kept.length,
  };
};
