import { decibelsOf } from '../../audio/decibels.ts';
import type { Figures } from '../../measure/figures.ts';
import { LOUDEST_DB, CLOSED_DB, type Guard } from '../../session/schema.ts';
import type { BlendQuery } from '../gram/blend-query.ts';
import { checkGuards, GUARD_DEFINITIONS, type Guarded, type GuardResult } from '../guards/guards.ts';
import type { BlendSpace } from './blend-space.ts';
import {
  USUAL_LIMITS,
  type BlendMove,
  type Reach,
  type SolvedGuard,
  type Solution,
  type TargetResult,
} from './solution.ts';
import {
  guardedAt,
  PEAK_GUARDS,
  readingsOf,
  scaleOf,
  SolveProblem,
  type GuardAim,
  type MovableBus,
} from './solve-problem.ts';
import { Search, VALUE_ROOM } from './solve-search.ts';
import type { Target } from './solve-target.ts';

/** A mix that was rendered and printed. */
export interface PrintedMix {
  /** Its paths, at its gains. */
  readonly space: BlendSpace;
  /** Of the print. */
  readonly figures: Figures;
  /** The print as guards look at it, as `check` does. */
  readonly guarded: Guarded;
}

/** What the solver needs from its caller. */
export interface SolveHost {
  /** The session as given with these blends, dB by bus, rendered and printed. */
  readonly print: (blends: ReadonlyMap<string, number>) => Promise<PrintedMix>;
  /** Called between steps of the search; rejects to stop. */
  readonly pace: () => Promise<void>;
}

/** Tolerance of the peak model, dB: a search ends with the peaks known to within this. */
const PEAK_ROOM = 0.02;
/** A figure this near to its limit, in scales, stands at it. */
const AT_LIMIT = 0.03;
/** The same for peaks, whose model leaves some room: the search may end a little short of them. */
const AT_PEAK_LIMIT = 0.15;
/** Blends that may be measured after each look at the peaks, by buses and one; a later search begins near its end. */
const BUDGETS = [200, 60, 50, 40] as const;
/** Prints of one search at most. */
const SEARCH_PRINTS = 14;
/** Searches for one question at most. */
const SEARCHES = 4;
/** Prints tried, by halving, between a print that keeps all guards and one that breaks one. */
const HALVINGS = 4;
/** Blends that move less than this have settled, dB: the last digit that is written. */
const SETTLED = 0.001;
/** A figure is as foreseen, or as good as another, within this, in scales. */
const ALIKE = 0.003;
/** Two prints of one mix read alike to this. */
const ROUNDING = 1e-6;

const round = (db: number): number => Number(db.toFixed(3));

/** The buses that may be moved: those that sound, within their limits. */
const movable = (space: BlendSpace, { withinDb, limits }: Reach): MovableBus[] =>
  space.paths.flatMap(({ id, name, kind }, place) => {
    const gain = space.gains[place]!;
    if (kind !== 'bus' || gain === 0) return [];
    const startDb = decibelsOf(gain);
    const usual = {
      low: Math.max(Math.min(USUAL_LIMITS.low, startDb), startDb - withinDb, CLOSED_DB),
      high: Math.min(Math.max(USUAL_LIMITS.high, startDb), startDb + withinDb, LOUDEST_DB),
    };
    return [{ id, name, place, startDb, ...(limits.get(id) ?? usual) }];
  });

const isPeakGuard = (guard: Guard): boolean => PEAK_GUARDS.includes(guard);

/** What a guard must keep: its limit, or what it was where it was broken before anything was moved. */
const keptValue = ({ limit, value, pass }: GuardResult): number => (pass ? limit : value!);

/** One print on the way, and where its blends stand. */
interface Tried extends PrintedMix {
  readonly settings: readonly number[];
  readonly guards: readonly GuardResult[];
}

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

const valueIn = ({ figure }: Target, { figures, guarded }: PrintedMix): number | null =>
  figure.valueOf(figures, () => guarded.lowsCorrelation);

const roomOf = ({ figure }: Target): number =>
  (figure.cost === 'peaks' ? PEAK_ROOM : 2 * VALUE_ROOM) * scaleOf(figure.unit);

const isMet = (target: Target, value: number | null): boolean => {
  if (value === null) return false;
  // As far as guards and limits allow; those that stop it are named in the solution.
  if (typeof target.wanted === 'string') return true;
  const room = roomOf(target);
  return value >= target.wanted.low - room && value <= target.wanted.high + room;
};

/** Distance of a value from the target, in scales; for "max" and "min" it is smaller the further the value goes. */
const shortOf = (target: Target, value: number | null): number => {
  const { figure, wanted } = target;
  if (value === null) return Infinity;
  if (isMet(target, value) && typeof wanted !== 'string') return 0;
  const away =
    typeof wanted === 'string'
      ? value * (wanted === 'max' ? -1 : 1)
      : Math.max(wanted.low - value, value - wanted.high);
  return away / scaleOf(figure.unit);
};

/** The search: around the best print so far it foresees a better one, prints it, and learns from what that is. */
class Solver {
  private readonly guardNames: readonly Guard[];
  /** Ranges first: "max" and "min" come after what can be met. */
  private readonly ranked: readonly Target[];
  /** Readings of guards that a print broke which was foreseen to keep them, more than the blend read. */
  private readonly learned = new Map<string, number>();
  private queries = 0;
  prints = 0;

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

  /** The best print that is found from `from` on. */
  async run(from: Tried = this.start): Promise<Tried> {
    let at = from;
    while (this.prints < SEARCH_PRINTS) {
      const next = await this.step(at);
      if (!next) break;
      at = next.tried;
      if (next.isDone) break;
    }
    return at;
  }

  /** A better print than `at`; null: none was found. */
  private async step(at: Tried): Promise<{ readonly tried: Tried; readonly isDone: boolean } | null> {
    let last: Tried | null = null;
    // A print that breaks a guard teaches what the chain after the sum makes of blends there.
    for (let look = 0; look < 3 && this.prints < SEARCH_PRINTS; look++) {
      const { problem, settings } = await this.foresee(at);
      if (!this.isMoved(settings, at.settings)) return null;
      last = await this.print(settings);
      if (this.isAllowed(last)) {
        const tried: Tried = last;
        if (!this.isBetter(tried, at)) return null;
        return { tried, isDone: this.targets.every((target) => this.isForeseen(problem, target, tried)) };
      }
      this.learn(last);
    }
    const back = last && (await this.wayBack(at, last));
    return back && this.isBetter(back, at) ? { tried: back, isDone: false } : null;
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
    return triedOf(await this.host.print(new Map(moved)), settings);
  }

  private isAllowed({ guards }: Tried): boolean {
    return guards.every(({ name, value }, n) => {
      const before = this.start.guards[n]!;
      if (value === null || before.value === null) return value === null || guards[n]!.pass;
      const kept = keptValue(before);
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
      const gain = shortOf(target, valueIn(target, b)) - shortOf(target, valueIn(target, a));
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
        Math.abs(db - this.buses[n]!.startDb) < SETTLED / 2 ? this.buses[n]!.startDb : round(db),
      );
      if (problem.isExact(settings)) break;
    }
    this.queries += problem.queries;
    return { problem, settings };
  }

  /** What the print measured more than the blend, by figure. */
  private offsets(at: Tried, here: Figures): ReadonlyMap<string, number> {
    const { query, gains } = at.space;
    return new Map(
      this.targets.map((target) => {
        const blend = target.figure.valueOf(here, () => query.lowsCorrelation(gains));
        const print = valueIn(target, at);
        return [target.figure.name, blend === null || print === null ? 0 : print - blend];
      }),
    );
  }

  /** What the print of a mix read more than its blend, by guard and reading; without those that only one of them has. */
  private differences({ space, guarded }: PrintedMix, here: Figures): readonly (readonly [Guard, string, number])[] {
    const blend = readingsOf(space, guardedAt(space, space.gains, here), this.guardNames);
    const print = readingsOf(space, guarded, this.guardNames);
    return this.guardNames.flatMap((guard) =>
      [...print.get(guard)!].flatMap(([key, value]) => {
        const before = blend.get(guard)!.get(key);
        return before === undefined ? [] : [[guard, key, value - before] as const];
      }),
    );
  }

  private guardAims(at: Tried, here: Figures): GuardAim[] {
    return this.differences(at, here).flatMap(([guard, key, difference]) => {
      const { bound, unit } = GUARD_DEFINITIONS[guard];
      const learned = this.learned.get(`${guard} ${key}`);
      // What a mix bus chain makes of peaks is known from prints alone.
      if (at.space.trimDb === null && isPeakGuard(guard) && learned === undefined) return [];
      const scale = scaleOf(unit);
      const room = isPeakGuard(guard) ? PEAK_ROOM * scale : 0;
      const kept = keptValue(this.start.guards.find(({ name }) => name === guard)!);
      const isCeiling = bound === 'at most';
      const offset = (isCeiling ? Math.max : Math.min)(difference, learned ?? difference);
      const range = isCeiling ? { low: -Infinity, high: kept - room } : { low: kept + room, high: Infinity };
      return [{ guard, key, offset, scale, ...range }];
    });
  }

  private learn(tried: Tried): void {
    for (const [guard, key, difference] of this.differences(tried, tried.space.query.allFigures(tried.space.gains))) {
      this.learned.set(`${guard} ${key}`, difference);
    }
  }

  /** The print furthest from `from` toward `to` that keeps all guards; null: none between them does. */
  private async wayBack(from: Tried, to: Tried): Promise<Tried | null> {
    let found: Tried | null = null;
    let [near, far] = [0, 1];
    for (let n = 0; n < HALVINGS && this.prints < SEARCH_PRINTS; n++) {
      const part = (near + far) / 2;
      const tried = await this.print(from.settings.map((db, s) => round(db + part * (to.settings[s]! - db))));
      if (this.isAllowed(tried)) [found, near] = [tried, part];
      else far = part;
    }
    return found;
  }
}

/** The first range that a print misses, asked for as far in its direction as can be had; null: it misses none. */
const beyondMissed = (targets: readonly Target[], end: Tried): readonly Target[] | null => {
  const missed = targets.find((target) => typeof target.wanted !== 'string' && !isMet(target, valueIn(target, end)));
  const value = missed && valueIn(missed, end);
  if (!missed || value === null || value === undefined || typeof missed.wanted === 'string') return null;
  const wanted = value < missed.wanted.low ? ('max' as const) : ('min' as const);
  return targets.map((target) => (target === missed ? { ...target, wanted } : target));
};

/** What is found for one question, and what it took. */
interface Searched {
  readonly end: Tried;
  readonly queries: number;
  readonly prints: number;
}

/**
 * The best print that is found. A search may end early, by what it learned where it began: so "max" and "min" are searched on from where
 * they end as long as that leads on, and a range that is missed is looked for from the far side too.
 */
const searched = async (
  host: SolveHost,
  targets: readonly Target[],
  buses: readonly MovableBus[],
  start: Tried,
): Promise<Searched> => {
  const solvers: Solver[] = [];
  const search = async (wanted: readonly Target[], from: Tried): Promise<Tried> => {
    const solver = new Solver(host, wanted, buses, start);
    solvers.push(solver);
    return solver.run(from);
  };
  const farthest = async (wanted: readonly Target[], from: Tried): Promise<Tried> => {
    let at = from;
    for (let n = 1; n < SEARCHES; n++) {
      const next = await search(wanted, at);
      if (next === at) break;
      at = next;
    }
    return at;
  };
  let end = await search(targets, start);
  const beyond = beyondMissed(targets, end);
  if (beyond) {
    const from = await farthest(beyond, end);
    const back = from === end ? end : await search(targets, from);
    if (solvers[0]!.isBetter(back, end)) end = back;
  } else if (end !== start && targets.some(({ wanted }) => typeof wanted === 'string'))
    end = await farthest(targets, end);
  const sum = (count: (solver: Solver) => number): number => solvers.reduce((all, solver) => all + count(solver), 0);
  return { end, queries: sum(({ measured }) => measured), prints: 1 + sum(({ prints }) => prints) };
};

const triedOf = (mix: PrintedMix, settings: readonly number[]): Tried => ({
  ...mix,
  settings,
  guards: checkGuards(mix.space.guards, mix.guarded, mix.space.references),
});

/**
 * Finds blends at which the targets are met within the guards, moving the buses that sound as little as that takes; a
 * target of "max" or "min" moves them as far as the guards and the reach of the blends allow. Targets and guards are
 * those of the print, as `check` measures them: what is foreseen from the blend before the mix bus is printed, and told
 * only as it was printed. Where all targets cannot be met together they are taken in their order, each as near as guards
 * and earlier ones allow, "max" and "min" last. A guard that is broken at the start may get better and never worse. The same
 * question has the same answer.
 * @throws RangeError when no bus may be moved
 */
export const solveBlends = async (host: SolveHost, targets: readonly Target[], reach: Reach): Promise<Solution> => {
  const given = await host.print(new Map());
  const buses = movable(given.space, reach);
  if (buses.length === 0) throw new RangeError('no bus may be moved');
  const start = triedOf(
    given,
    buses.map(({ startDb }) => startDb),
  );
  return solutionOf(buses, start, await searched(host, targets, buses, start), targets, reach);
};

const isActive = ({ name, value, limit, unit }: GuardResult, kept: number | null): boolean =>
  value !== null && Math.abs(value - (kept ?? limit)) <= (isPeakGuard(name) ? AT_PEAK_LIMIT : AT_LIMIT) * scaleOf(unit);

const movesOf = (buses: readonly MovableBus[], settings: readonly number[]): BlendMove[] =>
  buses.map(({ id, name, startDb, low, high }, n) => {
    const toDb = round(settings[n]!);
    const atLimit = toDb <= low + AT_LIMIT ? 'low' : toDb >= high - AT_LIMIT ? 'high' : null;
    return { id, name, fromDb: round(startDb), toDb, movedDb: round(toDb - startDb), atLimit };
  });

const solutionOf = (
  buses: readonly MovableBus[],
  start: Tried,
  { end, queries, prints }: Searched,
  targets: readonly Target[],
  { withinDb }: Reach,
): Solution => {
  const moves = movesOf(buses, end.settings);
  const guards = end.guards.map((result, n): SolvedGuard => {
    const before = start.guards[n]!;
    const brokenAtStart = !before.pass;
    const kept = brokenAtStart ? before.value : null;
    return { ...result, before: before.value, brokenAtStart, active: isActive(result, kept) };
  });
  const results = targets.map((target): TargetResult => {
    const after = valueIn(target, end);
    const { figure, wanted } = target;
    return { figure: figure.name, wanted, before: valueIn(target, start), after, met: isMet(target, after) };
  });
  return {
    blends: new Map(moves.map(({ id, toDb }) => [id, toDb])),
    before: start.figures,
    after: end.figures,
    gains: end.space.gains,
    met: results.every(({ met }) => met) && guards.every(({ pass, brokenAtStart }) => pass || brokenAtStart),
    targets: results,
    guards,
    moves,
    withinDb,
    queries,
    prints,
  };
};
