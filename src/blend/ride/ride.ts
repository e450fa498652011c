import { lufsOf } from '../../measure/loudness/loudness.ts';

/** What a ride is to do. */
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
/** Gates of EBU Tech 3342: -70 LUFS, and 20 LU below the mean power of what is above that. What is softer is not ridden. */
const ABSOLUTE_GATE = -70;
const RELATIVE_GATE = -20;
/** Rounds of correction; each takes back most of what is still out of range. */
const ROUNDS = 80;
const SHARE = 0.6;
/** What is aimed at lies this much within the range, LU, or a tenth of a narrow one: points are rounded, and moves are slow. */
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

/** A window is ridden where sound fills this much of it; of a path that is never so full, most of what it is at its fullest. */
const FILLED = 0.5;
const OF_FULLEST = 0.9;

/** What of a path is ridden, as it is before anything moves. */
interface Gated {
  /** Windows above both gates that sound fills: one that reaches into a gap is soft because of the gap. */
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

/** How far a loudness lies out of a range: what would bring it back, dB. */
const lacks = (lufs: number, low: number, high: number): number =>
  lufs < low ? low - lufs : lufs > high ? high - lufs : 0;

/**
 * Gains, dB, of a fader for each 100 ms that hold the short-term loudness (3 s) of a sound within a range, moving as little as that needs
 * and no faster than allowed. Windows that are below the gates, or reach into a gap, ask for nothing; over them the fader goes on from what is around.
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
      // The middle of a window has most to say in it.
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

/** Values that are not there (NaN) go straight between those around them; none there: 0. */
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

/** What a path's short-term loudness does. null: nothing of it is above the gates. */
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
