import { decibelsOf } from '../../audio/decibels.ts';
import type { Figures } from '../../measure/figures.ts';
import type { Guard } from '../../session/schema.ts';
import { GuardedBlend, type BlendBench } from './blend-bench.ts';
import type { BlendQuery } from '../gram/blend-query.ts';
import { checkGuards, GUARD_DEFINITIONS, type GuardResult } from '../guards/guards.ts';
import { PEAK_GUARDS, SolveProblem, type GuardAim, type TargetAim } from './solve-problem.ts';
import type { Target } from './solve-target.ts';

/** How far a blend may be moved, dB. */
export interface BlendLimits {
  readonly low: number;
  readonly high: number;
}

/** Where blends may go if nothing is said: from hardly heard to somewhat louder than what they double. */
export const USUAL_LIMITS: BlendLimits = { low: -48, high: 6 };

/** What became of one target. */
export interface TargetResult {
  readonly figure: string;
  readonly wanted: Target['wanted'];
  readonly before: number | null;
  readonly after: number | null;
  readonly met: boolean;
}

/** A bus whose blend was free to move. */
export interface BlendMove {
  readonly id: string;
  readonly name: string;
  readonly fromDb: number;
  readonly toDb: number;
  readonly movedDb: number;
  /** It stands at an end of its limits. */
  readonly atLimit: 'low' | 'high' | null;
}

export interface SolvedGuard extends GuardResult {
  /** It stands at its limit and kept the search from going further. */
  readonly active: boolean;
  /** It was broken before anything was moved, and so took no part in the search. */
  readonly brokenAtStart: boolean;
}

/** Found blends and all that must be said of them. Every figure is of the blend, before the mix bus. */
export interface Solution {
  /** By bus, dB. */
  readonly blends: ReadonlyMap<string, number>;
  readonly gains: readonly number[];
  readonly before: Figures;
  readonly after: Figures;
  /** All targets are met, and no guard is broken that was not before. */
  readonly met: boolean;
  readonly targets: readonly TargetResult[];
  readonly guards: readonly SolvedGuard[];
  readonly moves: readonly BlendMove[];
  /** Blends that were measured on the way. */
  readonly queries: number;
}

/** Half the width of the range that stands for one value, in scales of its figure: well within what is asked, 0.05 dB. */
const VALUE_ROOM = 0.005;
/** Room that the peaks of the model have: they are known to this when a search ends. */
const PEAK_ROOM = 0.02;
/** A figure this near to its limit, in scales, stands at it. */
const AT_LIMIT = 0.03;
/** The same for peaks, whose model leaves some room: the search may end a little short of them. */
const AT_PEAK_LIMIT = 0.15;
/** Steps of halving on the way to what is just reached. */
const HALVINGS = 9;
/** What is left of the way, in scales, when halving ends. */
const NEAR = 0.01;
/** Longest way of a figure that is to be as great or small as possible, in scales. */
const MOST_WAY = 64;
/** Blends that may be measured after each look; a later search begins near its end. */
const BUDGETS = [500, 200, 150, 100] as const;

/** Unit steps of figures: 1 dB or LU, 0.1 of a plain number such as a correlation. */
const scaleOf = (unit: string): number => (unit === '' ? 0.1 : 1);

const round = (db: number): number => Number(db.toFixed(3));

/** The buses that may be moved: those that sound, within their limits. */
const movable = (bench: BlendBench, limits: ReadonlyMap<string, BlendLimits>): SolveProblem['buses'] =>
  bench.paths.flatMap(({ id, name, kind }, place) => {
    const gain = bench.gains[place]!;
    if (kind !== 'bus' || gain === 0) return [];
    const { low, high } = limits.get(id) ?? USUAL_LIMITS;
    return [{ id, name, place, startDb: decibelsOf(gain), low, high }];
  });

const guardAimsOf = (start: readonly GuardResult[]): GuardAim[] =>
  start.flatMap(({ name, value, pass, limit }) => {
    if (value === null || !pass) return [];
    const { bound, unit } = GUARD_DEFINITIONS[name];
    const scale = scaleOf(unit);
    const room = isPeakGuard(name) ? PEAK_ROOM * scale : 0;
    const aim = bound === 'at most' ? { low: -Infinity, high: limit - room } : { low: limit + room, high: Infinity };
    // A start that lies between the limit and the room before it is as good as it was.
    return [{ guard: name, low: Math.min(aim.low, value), high: Math.max(aim.high, value), scale }];
  });

const targetAimOf = ({ figure, wanted }: Target, low: number, high: number): TargetAim => ({
  figure,
  wanted,
  low,
  high,
  scale: scaleOf(figure.unit),
});

/** The range that a target asks for; null where it asks for as much as can be had. */
const rangeAimOf = (target: Target): TargetAim | null => {
  const { figure, wanted } = target;
  if (typeof wanted === 'string') return null;
  const room = Math.max(0, VALUE_ROOM * scaleOf(figure.unit) - (wanted.high - wanted.low) / 2);
  return targetAimOf(target, wanted.low - room, wanted.high + room);
};

/** What is left of a target when `part` (0..1) of the way from `from` to its range is asked for. */
const partOf = (aim: TargetAim, from: number, part: number): TargetAim => {
  const missing = (1 - part) * Math.max(0, aim.low - from, from - aim.high);
  return { ...aim, low: aim.low - missing, high: aim.high + missing };
};

/** One search for settings that keep the guards and meet all targets, or come as near as the guards let it. */
class Search {
  private readonly held: TargetAim[] = [];
  private readonly mostQueries: number;

  constructor(
    private readonly problem: SolveProblem,
    private readonly guards: readonly GuardAim[],
    budget: number,
  ) {
    this.mostQueries = problem.queries + budget;
  }

  /** Settings that keep guards, what is held, and `more`; null: none were found. */
  private reach(more: readonly TargetAim[], start: readonly number[], elsewhere: boolean): readonly number[] | null {
    const starts = [start, ...(elsewhere ? this.problem.otherStarts() : [])];
    for (const from of starts) {
      if (this.problem.queries > this.mostQueries) return null;
      const found = this.problem.search([...this.held, ...more], this.guards, from);
      if (found.reached) return found.settings;
    }
    return null;
  }

  /** How far a figure lies from its range, in scales. */
  private missing({ figure, low, high, scale }: TargetAim, settings: readonly number[]): number {
    const value = this.problem.valueOf(figure, settings);
    return Math.max(0, low - value, value - high) / scale;
  }

  /**
   * Settings that keep guards and what is held and meet `aim`; where none do, those that a search for them ended at
   * nearest to it, or `start`.
   */
  private approach(aim: TargetAim, start: readonly number[]): readonly number[] {
    let best = start;
    for (const from of [start, ...this.problem.otherStarts()]) {
      if (this.problem.queries > this.mostQueries) break;
      const { settings, reached } = this.problem.search([...this.held, aim], this.guards, from);
      if (reached) return settings;
      const isKept = this.problem.keeps(this.held, this.guards, settings);
      if (isKept && this.missing(aim, settings) < this.missing(aim, best)) best = settings;
    }
    return best;
  }

  run(targets: readonly Target[], start: readonly number[]): readonly number[] {
    const ranges = targets.flatMap((target) => rangeAimOf(target) ?? []);
    const all = this.reach(ranges, start, ranges.length > 0);
    let settings = all ?? this.reach([], start, false) ?? start;
    if (all) this.held.push(...ranges);
    for (const target of targets) {
      const range = rangeAimOf(target);
      if (!range) settings = this.farthest(target, settings);
      else if (!all) settings = this.nearest(range, settings);
    }
    return settings;
  }

  /** Goes as far toward a range as guards and earlier targets allow, and holds what was reached. */
  private nearest(aim: TargetAim, start: readonly number[]): readonly number[] {
    const from = this.problem.valueOf(aim.figure, start);
    if (Number.isNaN(from)) return start;
    let best = start;
    let reached = 0;
    const way = Math.max(0, aim.low - from, from - aim.high) / aim.scale;
    const near = this.approach(aim, start);
    const left = this.missing(aim, near);
    if (left < way) [best, reached] = [near, 1 - left / way];
    for (let n = 0, beyond = 1; n < HALVINGS && (beyond - reached) * way > NEAR; n++) {
      const part = (reached + beyond) / 2;
      const found = this.reach([partOf(aim, from, part)], best, false);
      if (found) [best, reached] = [found, part];
      else beyond = part;
    }
    this.held.push(partOf(aim, from, reached));
    return best;
  }

  /** Makes a figure as great or as small as guards and earlier targets allow, and holds it there. */
  private farthest(target: Target, start: readonly number[]): readonly number[] {
    const sign = target.wanted === 'max' ? 1 : -1;
    const scale = scaleOf(target.figure.unit);
    const from = this.problem.valueOf(target.figure, start);
    if (Number.isNaN(from)) return start;
    const beyond = (way: number): TargetAim => {
      const level = from + sign * way * scale;
      return sign > 0 ? targetAimOf(target, level, Infinity) : targetAimOf(target, -Infinity, level);
    };
    let best = start;
    let reached = 0;
    let out = 0.5;
    for (; out <= MOST_WAY; out *= 2) {
      const found = this.reach([beyond(out)], best, reached === 0);
      if (!found) break;
      [best, reached] = [found, out];
    }
    for (let n = 0; n < HALVINGS && out - reached > NEAR; n++) {
      const middle = (reached + out) / 2;
      const found = this.reach([beyond(middle)], best, false);
      if (found) [best, reached] = [found, middle];
      else out = middle;
    }
    this.held.push(beyond(reached));
    return best;
  }
}

const isMet = ({ figure, wanted }: Target, after: number | null): boolean => {
  if (after === null) return false;
  // As far as something lets it: the guards and limits that stand there are told.
  if (typeof wanted === 'string') return true;
  const room = (figure.cost === 'peaks' ? PEAK_ROOM : 2 * VALUE_ROOM) * scaleOf(figure.unit);
  return after >= wanted.low - room && after <= wanted.high + room;
};

const isPeakGuard = (guard: Guard): boolean => PEAK_GUARDS.includes(guard);

const isActive = ({ name, value, limit, pass, unit }: GuardResult): boolean =>
  value !== null && pass && Math.abs(value - limit) <= (isPeakGuard(name) ? AT_PEAK_LIMIT : AT_LIMIT) * scaleOf(unit);

/**
 * Finds blends at which the targets are met within the guards, moving the buses that sound as little as that takes; a
 * target of "max" or "min" moves them as far as the guards and the limits of the blends allow. Where
 * all targets cannot be met together they are taken in their order, each as far as guards and earlier ones allow; "max"
 * and "min" come after the others that can be met. A guard that is broken at the start takes no part. The same
 * question has the same answer.
 * @throws RangeError when no bus may be moved
 */
export const solveBlends = (
  bench: BlendBench,
  targets: readonly Target[],
  limits: ReadonlyMap<string, BlendLimits>,
): Solution => {
  const buses = movable(bench, limits);
  if (buses.length === 0) throw new RangeError('no bus may be moved');
  const exact = remembered(bench.query);
  const before = exact(bench.gains);
  const started = guardsOf(bench, bench.gains, before);
  const guards = guardAimsOf(started);
  const problem = new SolveProblem(bench, buses, guards, targets, exact);
  const start = buses.map(({ startDb }) => startDb);

  let settings: readonly number[] = start;
  for (const budget of BUDGETS) {
    problem.look(settings);
    settings = new Search(problem, guards, budget).run(targets, settings).map(round);
    if (problem.isExact(settings)) break;
  }
  const gains = problem.gainsAt(settings);
  const after = exact(gains);
  return told(bench, problem, targets, { settings, gains, before, after, started });
};

/** All figures of blends, each measured once: the peaks take more time than the rest. */
const remembered = (query: BlendQuery): ((gains: readonly number[]) => Figures) => {
  const known = new Map<string, Figures>();
  return (gains) => {
    const name = gains.join();
    const figures = known.get(name) ?? query.allFigures(gains);
    known.set(name, figures);
    return figures;
  };
};

const guardsOf = (bench: BlendBench, gains: readonly number[], figures: Figures): GuardResult[] =>
  checkGuards(
    bench.guards,
    new GuardedBlend(bench, gains, { essentials: figures, truePeakDbtp: figures.truePeakDbtp }),
    bench.references,
  );

interface Ended {
  readonly settings: readonly number[];
  readonly gains: readonly number[];
  readonly before: Figures;
  readonly after: Figures;
  readonly started: readonly GuardResult[];
}

const told = (
  bench: BlendBench,
  problem: SolveProblem,
  targets: readonly Target[],
  { settings, gains, before, after, started }: Ended,
): Solution => {
  const { query } = bench;
  const broken = new Set<Guard>(started.filter(({ pass }) => !pass).map(({ name }) => name));
  const moves = problem.buses.map(({ id, name, startDb, low, high }, n): BlendMove => {
    const toDb = settings[n]!;
    const atLimit = toDb <= low + AT_LIMIT ? 'low' : toDb >= high - AT_LIMIT ? 'high' : null;
    return { id, name, fromDb: round(startDb), toDb, movedDb: round(toDb - startDb), atLimit };
  });
  const guards = guardsOf(bench, gains, after).map((result): SolvedGuard => {
    const brokenAtStart = broken.has(result.name);
    return { ...result, brokenAtStart, active: !brokenAtStart && isActive(result) };
  });
  const results = targets.map((target): TargetResult => {
    const valueIn = (figures: Figures, at: readonly number[]): number | null =>
      target.figure.valueOf(figures, () => query.lowsCorrelation(at));
    const value = valueIn(after, gains);
    return {
      figure: target.figure.name,
      wanted: target.wanted,
      before: valueIn(before, bench.gains),
      after: value,
      met: isMet(target, value),
    };
  });
  return {
    blends: new Map(moves.map(({ id, toDb }) => [id, toDb])),
    gains,
    before,
    after,
    met: results.every(({ met }) => met) && guards.every(({ pass, brokenAtStart }) => pass || brokenAtStart),
    targets: results,
    guards,
    moves,
    queries: problem.queries,
  };
};
