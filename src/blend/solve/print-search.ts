import type { Figures } from '../../measure/figures.ts';
import type { Guard } from '../../session/schema.ts';
import type { BlendQuery } from '../gram/blend-query.ts';
import { GUARD_DEFINITIONS } from '../guards/guards.ts';
import type { BlendSpace } from './blend-space.ts';
import { allowedValue, writtenDb, triedOf, type PrintedMix, type SolveHost, type Tried } from './printed-mix.ts';
import {
  gainsAt,
  guardedAt,
  isPeakGuard,
  PEAK_GUARDS,
  readingsOf,
  scaleOf,
  SolveProblem,
  type GuardAim,
  type MovableBus,
} from './solve-problem.ts';
import { Search } from './solve-search.ts';
import type { Target } from './solve-target.ts';
import { isMet, PEAK_TOLERANCE, distanceFromTarget, valueIn } from './target-met.ts';

/** Most blends measured after each exact measurement of the peaks, times (number of buses + 1); a later search begins near its end. */
const BUDGETS = [200, 60, 50, 40] as const;
/** Prints that one search makes at most. */
const SEARCH_PRINTS = 14;
/** Prints tried, by bisection, between a print that keeps all guards and one that breaks one. */
const HALVINGS = 4;
/** Prints tried between one on this side of a value and one beyond it. */
const CLOSING_PRINTS = 6;
/** Blends that move less than this have settled, dB: the last digit that is written. */
const SETTLED = 0.001;
/** Tolerance within which a figure counts as predicted, or as equal to another, in scales. */
const ALIKE = 0.003;
/** Tolerance within which two prints of one mix agree. */
const ROUNDING = 1e-6;

/** All figures of blends, each blend measured once: the peaks take more time than the rest. */
const remembered = (query: BlendQuery): ((gains: readonly number[]) => Figures) => {
  const known = new Map<string, Figures>();
  return (gains) => {
    const name = gains.join();
    const figures = known.get(name) ?? query.allFigures(gains);
    known.set(name, figures);
    return figures;
  };
};

/** The search: predicts a better blend near the best print so far, prints it, and corrects the prediction by that print's figures. */
export class PrintSearch {
  private readonly guardNames: readonly Guard[];
  /** Ranges first: "max" and "min" come after what can be met. */
  private readonly ranked: readonly Target[];
  /** Difference of measured and predicted values of a print that was no improvement: by guard and reading, and by figure. */
  private readonly learned = new Map<string, number>();
  /** True once a print differed from its prediction. */
  hasLearned = false;
  private queries = 0;
  prints = 1;

  constructor(
    private readonly host: SolveHost,
    private readonly targets: readonly Target[],
    readonly buses: readonly MovableBus[],
    readonly start: Tried,
  ) {
    this.guardNames = start.guards.map(({ name }) => name);
    const isRange = ({ wanted }: Target): boolean => typeof wanted !== 'string';
    this.ranked = [...targets.filter(isRange), ...targets.filter((target) => !isRange(target))];
  }

  get measured(): number {
    return this.queries;
  }

  /** Improves prints from the start on, until one is `enough`. */
  async run(enough: (tried: Tried) => boolean = () => false): Promise<readonly [Tried, ...Tried[]]> {
    const way: [Tried, ...Tried[]] = [this.start];
    while (this.prints < SEARCH_PRINTS) {
      const at = way.at(-1)!;
      const brought = this.learned.size > 0;
      let next = await this.step(at);
      if (!next && brought) {
        // Corrections learned near an earlier print may rule out blends that are possible near this one.
        this.learned.clear();
        next = await this.step(at);
      }
      if (!next) break;
      way.push(next.tried);
      if (next.isDone || enough(next.tried)) break;
      this.forget(at.space.trimDb === null);
    }
    return way;
  }

  /** Of the corrections learned near one print, keeps those that are valid near the next: the effect of a chain on peaks, known from prints alone. */
  private forget(keepsPeaks: boolean): void {
    for (const key of this.learned.keys()) {
      if (!keepsPeaks || !PEAK_GUARDS.some((guard) => key.startsWith(guard))) this.learned.delete(key);
    }
  }

  /** A better print than `at`; null: none was found. */
  private async step(at: Tried): Promise<{ readonly tried: Tried; readonly isDone: boolean } | null> {
    let last: Tried | null = null;
    // A print that is no improvement shows the effect of buses that feed others, and of the chain after the sum, on blends there.
    for (let look = 0; look < 3 && this.prints < SEARCH_PRINTS; look++) {
      const { problem, settings } = await this.foresee(at);
      if (!this.isMoved(settings, at.settings)) break;
      last = await this.print(settings);
      if (this.isStep(at, last)) return { tried: last, isDone: this.isDone(problem, last) };
      this.learn(at, last);
    }
    const back = last && (await this.wayBack(at, last));
    return back && { tried: back, isDone: false };
  }

  /** Printed as predicted, and not held back by a learned correction. */
  private isDone(problem: SolveProblem, tried: Tried): boolean {
    const isAsAsked = (target: Target): boolean =>
      typeof target.wanted !== 'string' && isMet(target, valueIn(target, tried));
    return (
      this.targets.every((target) => this.isForeseen(problem, target, tried)) &&
      (this.learned.size === 0 || this.targets.every(isAsAsked))
    );
  }

  private isStep(from: Tried, tried: Tried): boolean {
    return this.isAllowed(tried) && this.isBetter(tried, from);
  }

  private isMoved(a: readonly number[], b: readonly number[]): boolean {
    return a.some((db, n) => Math.abs(db - b[n]!) >= SETTLED);
  }

  private isForeseen(problem: SolveProblem, target: Target, tried: Tried): boolean {
    const foreseen = problem.valueOf(target.figure, tried.settings);
    const value = valueIn(target, tried);
    return value === null || Math.abs(foreseen - value) <= ALIKE * scaleOf(target.figure.unit);
  }

  private async print(settings: readonly number[]): Promise<Tried> {
    this.prints++;
    const moved = this.buses.flatMap(({ id, startDb }, n) =>
      Math.abs(settings[n]! - startDb) < SETTLED / 2 ? [] : [[id, settings[n]!] as const],
    );
    const tried = triedOf(await this.host.print(new Map(moved)), settings);
    this.host.onPrint?.(tried);
    return tried;
  }

  private isAllowed({ guards }: Tried): boolean {
    return guards.every(({ name, value }, n) => {
      const before = this.start.guards[n]!;
      if (value === null || before.value === null) return value === null || guards[n]!.pass;
      const kept = allowedValue(before);
      return GUARD_DEFINITIONS[name].bound === 'at most' ? value <= kept + ROUNDING : value >= kept - ROUNDING;
    });
  }

  /** How far blends lie outside of their limits, dB: those of the session may. */
  private outside(settings: readonly number[]): number {
    return Math.max(...this.buses.map(({ low, high }, n) => Math.max(low - settings[n]!, settings[n]! - high, 0)));
  }

  isBetter(a: Tried, b: Tried): boolean {
    const inward = this.outside(b.settings) - this.outside(a.settings);
    if (Math.abs(inward) >= SETTLED) return inward > 0;
    for (const target of this.ranked) {
      const gain = distanceFromTarget(target, valueIn(target, b)) - distanceFromTarget(target, valueIn(target, a));
      if (Math.abs(gain) > ALIKE) return gain > 0;
    }
    return false;
  }

  /** The best blends predicted from a print. */
  private async foresee(at: Tried): Promise<{ problem: SolveProblem; settings: readonly number[] }> {
    const exact = remembered(at.space.query);
    const here = exact(at.space.gains);
    const guards = this.guardAims(at, here);
    const problem = new SolveProblem(at.space, this.buses, guards, this.targets, this.offsets(at, here), exact);
    let settings: readonly number[] = this.buses.map(({ low, high }, n) =>
      Math.min(high, Math.max(low, at.settings[n]!)),
    );
    for (const budget of BUDGETS) {
      problem.look(settings);
      const search = new Search(problem, guards, budget * (this.buses.length + 1), () => this.host.pace());
      settings = (await search.run(this.targets, settings)).map((db, n) =>
        Math.abs(db - this.buses[n]!.startDb) < SETTLED / 2 ? this.buses[n]!.startDb : writtenDb(db),
      );
      if (problem.isExact(settings)) break;
    }
    this.queries += problem.queries;
    return { problem, settings };
  }

  /** Measured value of the print less that of its blend, by figure, or the learned correction. */
  private offsets(at: Tried, here: Figures): ReadonlyMap<string, number> {
    return new Map(
      this.targets.map(({ figure }) => [
        figure.name,
        this.learned.get(figure.name) ?? offsetOf(figure, at, at.space, at.space.gains, here),
      ]),
    );
  }

  /**
   * Measured value of a print less that of the blend at `gains` of these paths, by guard and reading; without those that only one
   * of them has.
   */
  private differences(
    { space, guarded }: PrintedMix,
    foreseenFrom: BlendSpace,
    gains: readonly number[],
    figures: Figures,
  ): readonly (readonly [Guard, string, number])[] {
    const blend = readingsOf(foreseenFrom, guardedAt(foreseenFrom, gains, figures), this.guardNames);
    const print = readingsOf(space, guarded, this.guardNames);
    return this.guardNames.flatMap((guard) =>
      [...print.get(guard)!].flatMap(([key, value]) => {
        const before = blend.get(guard)!.get(key);
        return before === undefined ? [] : [[guard, key, value - before] as const];
      }),
    );
  }

  private guardAims(at: Tried, here: Figures): GuardAim[] {
    return this.differences(at, at.space, at.space.gains, here).flatMap(([guard, key, difference]) => {
      const { bound, unit } = GUARD_DEFINITIONS[guard];
      const learned = this.learned.get(`${guard} ${key}`);
      // The effect of a mix bus chain on peaks is known from prints alone.
      if (at.space.trimDb === null && isPeakGuard(guard) && learned === undefined) return [];
      const scale = scaleOf(unit);
      const room = isPeakGuard(guard) ? PEAK_TOLERANCE * scale : 0;
      const kept = allowedValue(this.start.guards.find(({ name }) => name === guard)!);
      const isCeiling = bound === 'at most';
      const offset = (isCeiling ? Math.max : Math.min)(difference, learned ?? difference);
      const range = isCeiling ? { low: -Infinity, high: kept - room } : { low: kept + room, high: Infinity };
      return [{ guard, key, offset, scale, ...range }];
    });
  }

  /** Learns the difference of a print from its prediction, which was made from the print `at` with its feeds. */
  private learn(at: Tried, tried: Tried): void {
    this.hasLearned = true;
    const gains = gainsAt(at.space, this.buses, tried.settings);
    const figures = at.space.query.allFigures(gains);
    for (const [guard, key, difference] of this.differences(tried, at.space, gains, figures)) {
      this.learned.set(`${guard} ${key}`, difference);
    }
    for (const { figure } of this.targets) {
      this.learned.set(figure.name, offsetOf(figure, tried, at.space, gains, figures));
    }
  }

  /** The print furthest from `from` toward `to` that is an improvement; null: none that was tried is. */
  private async wayBack(from: Tried, to: Tried): Promise<Tried | null> {
    let found: Tried | null = null;
    let [near, far] = [0, 1];
    for (let n = 0; n < HALVINGS && this.prints < SEARCH_PRINTS; n++) {
      const part = (near + far) / 2;
      const tried = await this.print(between(from, to, part));
      if (this.isStep(found ?? from, tried)) [found, near] = [tried, part];
      else far = part;
    }
    return found;
  }

  /** The best print between two on either side of a value, by false position; null: none there keeps the guards. */
  async closeIn(target: Target, value: number, short: Tried, beyond: Tried): Promise<Tried | null> {
    const missed = (tried: Tried): number => valueIn(target, tried)! - value;
    let best: Tried | null = null;
    let [near, far] = [short, beyond];
    for (let n = 0; n < CLOSING_PRINTS; n++) {
      const part = missed(near) / (missed(near) - missed(far));
      const tried = await this.print(between(near, far, Math.min(0.9, Math.max(0.1, part))));
      if (valueIn(target, tried) === null) return best;
      if (this.isAllowed(tried) && (!best || this.isBetter(tried, best))) best = tried;
      if (best === tried && isMet(target, valueIn(target, tried))) return best;
      if (Math.sign(missed(tried)) === Math.sign(missed(near))) near = tried;
      else far = tried;
    }
    return best;
  }
}

/** Blends a part of the way from those of one print to those of another, dB. */
const between = (from: Tried, to: Tried, part: number): readonly number[] =>
  from.settings.map((db, s) => writtenDb(db + part * (to.settings[s]! - db)));

/** A figure of a print less that of the blend at `gains` of these paths; 0 where one has none. */
const offsetOf = (
  figure: Target['figure'],
  printed: PrintedMix,
  { query }: BlendSpace,
  gains: readonly number[],
  figures: Figures,
): number => {
  const blend = figure.valueOf(figures, () => query.lowsCorrelation(gains));
  const print = figure.valueOf(printed.figures, () => printed.guarded.lowsCorrelation);
  return blend === null || print === null ? 0 : print - blend;
};
