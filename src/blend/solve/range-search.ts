import { solveLinear } from './solve-linear.ts';

/** The range that a figure is to lie in; either end may be infinite. */
export interface Aim {
  readonly low: number;
  readonly high: number;
  /** Size of one unit of miss (the scale): 1 dB, or 0.1 for a correlation. */
  readonly scale: number;
}

/** A problem of ranges: settings within a box, and figures of them. */
interface RangeProblem {
  /** Figures at these settings, one for each aim; NaN where one does not exist. */
  readonly evaluate: (settings: readonly number[]) => readonly number[];
  readonly aims: readonly Aim[];
  readonly low: readonly number[];
  readonly high: readonly number[];
}

/** Where a search ended. */
export interface Found {
  readonly settings: readonly number[];
  readonly values: readonly number[];
  /** Every figure lies in its range. */
  readonly reached: boolean;
  /** Sum of squared distances to the ranges, in scales. */
  readonly cost: number;
}

/** Part of a scale by which the search aims inside the ends of a range, so that they are reached despite rounding. */
const INSIDE = 0.002;
/** Step of the finite differences for slopes, dB. */
const DIFFERENCE = 0.05;
const MOST_ROUNDS = 24;
/** Longest step of one setting in one round, dB. */
const LONGEST = 6;

const missOf = (value: number, { low, high, scale }: Aim): number => {
  const inside = Math.min(INSIDE * scale, (high - low) / 2);
  if (Number.isNaN(value)) return Infinity;
  return (value - Math.min(high - inside, Math.max(low + inside, value))) / scale;
};

/** True where a value lies in the range of its aim. */
const isWithin = (value: number, { low, high }: Aim): boolean => value >= low && value <= high;

const foundAt = ({ evaluate, aims }: RangeProblem, settings: readonly number[]): Found => {
  const values = evaluate(settings);
  const cost = values.reduce((sum, value, n) => sum + missOf(value, aims[n]!) ** 2, 0);
  return { settings, values, cost, reached: values.every((value, n) => isWithin(value, aims[n]!)) };
};

type Slopes = number[][];

/** Slope of every figure (in scales) over every setting, by one-sided differences. */
const slopesAt = ({ evaluate, aims, high }: RangeProblem, { settings, values }: Found): Slopes => {
  const slopes: Slopes = aims.map(() => settings.map(() => 0));
  settings.forEach((setting, s) => {
    const step = setting + DIFFERENCE > high[s]! ? -DIFFERENCE : DIFFERENCE;
    evaluate(settings.with(s, setting + step)).forEach((value, a) => {
      const slope = (value - values[a]!) / step / aims[a]!.scale;
      slopes[a]![s] = Number.isFinite(slope) ? slope : 0;
    });
  });
  return slopes;
};

/** The slopes updated by a step that was taken (rank-one update of Broyden 1965). */
const corrected = (slopes: Slopes, from: Found, to: Found, aims: readonly Aim[]): Slopes => {
  const step = to.settings.map((setting, s) => setting - from.settings[s]!);
  const length = step.reduce((sum, each) => sum + each * each, 0);
  return slopes.map((row, a) => {
    const expected = row.reduce((sum, slope, s) => sum + slope * step[s]!, 0);
    const wrong = ((to.values[a]! - from.values[a]!) / aims[a]!.scale - expected) / length;
    return Number.isFinite(wrong) ? row.map((slope, s) => slope + wrong * step[s]!) : row;
  });
};

/** Damped least-squares step (Levenberg 1944, Marquardt 1963) on the settings that are not held at an end of the box. */
const stepFrom = ({ aims, low, high }: RangeProblem, at: Found, slopes: Slopes, damping: number): readonly number[] => {
  const misses = at.values.map((value, n) => missOf(value, aims[n]!));
  const free = at.settings.map(() => true);
  for (;;) {
    const places = free.flatMap((isFree, s) => (isFree ? [s] : []));
    if (places.length === 0) return at.settings;
    const matrix = places.map((s) => places.map((t) => dot(slopes, misses, s, t) + (s === t ? damping : 0)));
    const right = places.map((s) => -misses.reduce((sum, miss, a) => sum + miss * slopes[a]![s]!, 0));
    const step = solveLinear(matrix, right);
    const blocked = places.filter(
      (s, n) => (step[n]! > 0 && at.settings[s]! >= high[s]!) || (step[n]! < 0 && at.settings[s]! <= low[s]!),
    );
    if (blocked.length === 0) {
      const longest = Math.max(...step.map(Math.abs));
      const part = longest > LONGEST ? LONGEST / longest : 1;
      return at.settings.map((setting, s) => {
        const n = places.indexOf(s);
        return n < 0 ? setting : Math.min(high[s]!, Math.max(low[s]!, setting + part * step[n]!));
      });
    }
    for (const s of blocked) free[s] = false;
  }
};

/** Only figures outside their range count. */
const dot = (slopes: Slopes, misses: readonly number[], s: number, t: number): number =>
  slopes.reduce((sum, row, a) => (misses[a] === 0 ? sum : sum + row[s]! * row[t]!), 0);

/**
 * Looks for settings near `start` at which every figure lies in its range, moving them no more than needed. Figures
 * need not be smooth. Ends when all lie in their ranges, or when no step improves.
 */
export const searchRanges = (problem: RangeProblem, start: readonly number[]): Found => {
  const clamped = start.map((setting, s) => Math.min(problem.high[s]!, Math.max(problem.low[s]!, setting)));
  let best = foundAt(problem, clamped);
  if (best.reached || clamped.length === 0 || !Number.isFinite(best.cost)) return best;
  let slopes = slopesAt(problem, best);
  let fresh = true;
  let damping = 1e-3;
  for (let round = 0; round < MOST_ROUNDS && !best.reached; round++) {
    const next = foundAt(problem, stepFrom(problem, best, slopes, damping));
    if (next.cost < best.cost * (1 - 1e-3) || next.reached) {
      const good = next.cost < best.cost / 4;
      slopes = corrected(slopes, best, next, problem.aims);
      best = next;
      damping = Math.max(1e-6, damping / 4);
      fresh = false;
      if (good) continue;
    } else if (fresh) {
      damping *= 8;
      if (damping > 1e3) break;
      continue;
    }
    slopes = slopesAt(problem, best);
    fresh = true;
  }
  return best;
};
