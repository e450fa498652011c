import { scaleOf, type GuardAim, type SolveProblem, type TargetAim } from './solve-problem.ts';
import type { Target } from './solve-target.ts';

/** Half the width of the range that replaces a single value, in scales of its figure: well within the tolerance of 0.05 dB. */
export const VALUE_TOLERANCE = 0.005;
/** First, least and greatest step of a figure towards its goal, in scales. */
const [FIRST_STEP, LEAST_STEP, MOST_STEP] = [0.5, 0.005, 8] as const;
/** Where steps end, other starts are tried for this much more of the figure, in scales. */
const JUMPS = [0.02, 1] as const;

const targetAimOf = ({ figure, wanted }: Target, low: number, high: number): TargetAim => ({
  figure,
  wanted,
  low,
  high,
  scale: scaleOf(figure.unit),
});

/** The range that a target asks for; null for "max" and "min". */
const rangeAimOf = (target: Target): TargetAim | null => {
  const { figure, wanted } = target;
  if (typeof wanted === 'string') return null;
  const room = Math.max(0, VALUE_TOLERANCE * scaleOf(figure.unit) - (wanted.high - wanted.low) / 2);
  return targetAimOf(target, wanted.low - room, wanted.high + room);
};

/** How far a value lies from its range, in scales. */
const missing = ({ low, high, scale }: TargetAim, value: number): number =>
  Math.max(0, low - value, value - high) / scale;

/** One search for settings that keep the guards and meet all targets, or come as near as the guards allow. */
export class Search {
  private readonly held: TargetAim[] = [];
  private readonly mostQueries: number;

  constructor(
    private readonly problem: SolveProblem,
    private readonly guards: readonly GuardAim[],
    budget: number,
    /** Called between measurements; rejects to stop. */
    private readonly pace: () => Promise<void>,
  ) {
    this.mostQueries = problem.queries + budget;
  }

  /** Settings that keep guards, what is held, and `more`, from the first of `starts` that leads there; null: none does. */
  private async reach(
    more: readonly TargetAim[],
    starts: readonly (readonly number[])[],
  ): Promise<readonly number[] | null> {
    for (const from of starts) {
      if (this.problem.queries > this.mostQueries) return null;
      await this.pace();
      const found = this.problem.search([...this.held, ...more], this.guards, from);
      if (found.reached) return found.settings;
    }
    return null;
  }

  /** Ranges in their order, then "max" and "min" targets in theirs. */
  async run(targets: readonly Target[], start: readonly number[]): Promise<readonly number[]> {
    const ranges = targets.flatMap((target) => rangeAimOf(target) ?? []);
    const all = ranges.length > 1 ? await this.reach(ranges, [start, ...this.problem.otherStarts()]) : null;
    let settings = all ?? (await this.reach([], [start])) ?? start;
    if (all) this.held.push(...ranges);
    else for (const range of ranges) settings = await this.toward(range, settings);
    for (const target of targets) {
      if (typeof target.wanted === 'string') settings = await this.farthest(target, settings);
    }
    return settings;
  }

  /** Moves a figure as far toward its range as guards and earlier targets allow, and holds it there. */
  private async toward(aim: TargetAim, start: readonly number[]): Promise<readonly number[]> {
    const from = this.problem.valueOf(aim.figure, start);
    if (Number.isNaN(from)) return start;
    if (missing(aim, from) === 0) {
      this.held.push(aim);
      return start;
    }
    const sign = from < aim.low ? 1 : -1;
    const direct = await this.reach([aim], [start]);
    // Where it cannot be met at once, it is stepped like "max" and "min", so that they end at the same blends.
    const goal = sign > 0 ? aim.low : aim.high;
    const [settings, value] = await this.climb(aim, sign, direct ?? start, goal);
    const left = missing(aim, value) * aim.scale;
    this.held.push({ ...aim, low: aim.low - left, high: aim.high + left });
    return settings;
  }

  /** Makes a figure as great or as small as guards and earlier targets allow, and holds it there. */
  private async farthest(target: Target, start: readonly number[]): Promise<readonly number[]> {
    const sign = target.wanted === 'max' ? 1 : -1;
    const aim = targetAimOf(target, -Infinity, Infinity);
    if (Number.isNaN(this.problem.valueOf(aim.figure, start))) return start;
    const [settings, value] = await this.climb(aim, sign, start, sign * Infinity);
    this.held.push(sign > 0 ? { ...aim, low: value } : { ...aim, high: value });
    return settings;
  }

  /**
   * Moves a figure up or down (`sign`) toward `goal`, step by step from where it is: steps grow as long as they are
   * reached and shrink where they are not; where no step succeeds, other starts are tried.
   */
  private async climb(
    aim: TargetAim,
    sign: 1 | -1,
    start: readonly number[],
    goal: number,
  ): Promise<readonly [settings: readonly number[], value: number]> {
    const { problem } = this;
    let best = start;
    let value = problem.valueOf(aim.figure, start);
    const further = (way: number): TargetAim => {
      const level = sign * Math.min(sign * goal, sign * value + way * aim.scale);
      return sign > 0 ? { ...aim, low: level } : { ...aim, high: level };
    };
    const take = (settings: readonly number[]): void => {
      best = settings;
      value = problem.valueOf(aim.figure, settings);
    };
    const isThere = (): boolean => sign * value >= sign * goal || problem.queries > this.mostQueries;
    for (;;) {
      let step: number = FIRST_STEP;
      while (step >= LEAST_STEP && !isThere()) {
        const found = await this.reach([further(step)], [best]);
        if (found) take(found);
        step = found ? Math.min(MOST_STEP, 2 * step) : step / 2;
      }
      let jumped: readonly number[] | null = null;
      for (const jump of JUMPS)
        if (!isThere()) jumped ??= await this.reach([further(jump)], [start, ...problem.otherStarts()]);
      if (!jumped) return [best, value];
      take(jumped);
    }
  }
}
