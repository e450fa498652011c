import { decibelsOf } from '../../audio/decibels.ts';
import { LOUDEST_DB, CLOSED_DB } from '../../session/schema.ts';
import type { GuardResult } from '../guards/guards.ts';
import type { BlendSpace } from './blend-space.ts';
import { PrintSearch } from './print-search.ts';
import { writtenDb, triedOf, type SolveHost, type Tried } from './printed-mix.ts';
import {
  USUAL_LIMITS,
  type BlendMove,
  type Reach,
  type SolvedGuard,
  type Solution,
  type TargetResult,
} from './solution.ts';
import { isPeakGuard, scaleOf, type MovableBus } from './solve-problem.ts';
import type { Target } from './solve-target.ts';
import { isMet, valueIn } from './target-met.ts';

/** Distance to its limit, in scales, within which a figure counts as at the limit. */
const AT_LIMIT = 0.03;
/** The same for peaks: their model has a tolerance, so the search may end a little short of the limit. */
const AT_PEAK_LIMIT = 0.15;

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

/** The last print of a search, with its number of prints and blends. */
interface Ended {
  readonly end: Tried;
  readonly queries: number;
  readonly prints: number;
}

/**
 * The first range that a print misses, its nearer end, and all targets with this figure's replaced by "max" or "min"
 * in that direction; null: it misses none.
 */
const missedRange = (targets: readonly Target[], end: Tried) => {
  for (const target of targets) {
    const value = valueIn(target, end);
    if (typeof target.wanted === 'string' || value === null || isMet(target, value)) continue;
    const isLow = value < target.wanted.low;
    const wanted = isLow ? ('max' as const) : ('min' as const);
    const further = targets.map((each) => (each === target ? { ...target, wanted } : each));
    return { target, isLow, edge: isLow ? target.wanted.low : target.wanted.high, further };
  }
  return null;
};

/** By how much the value reached by "max" or "min" is exceeded in a follow-up target, in scales, and how often. */
const FURTHER = [0.02, 0.04, 0.08] as const;

/** A target `more` scales beyond the value that a print reached for a "max" or "min" target. */
const furtherOf = (target: Target, value: number, more: number): Target => {
  const edge = value + (target.wanted === 'max' ? 1 : -1) * more * scaleOf(target.figure.unit);
  return { ...target, wanted: { low: edge, high: edge } };
};

/**
 * Asks for a little more than "max" or "min" reached, as a value: over a short distance the effect of buses that feed others
 * is known, while over the long distance to the maximum the prediction was off.
 */
const furthest = async (
  host: SolveHost,
  targets: readonly Target[],
  buses: readonly MovableBus[],
  start: Tried,
  { end, queries, prints }: Ended,
): Promise<Ended> => {
  const most = targets.find(({ wanted }) => typeof wanted === 'string');
  let [best, measured, printed] = [end, queries, prints];
  for (const more of FURTHER) {
    const value = most && valueIn(most, best);
    if (value === null || value === undefined) break;
    const asked = targets.map((each) => (each === most ? furtherOf(most, value, more) : each));
    const search = new PrintSearch(host, asked, buses, start);
    const found = (await search.run()).at(-1)!;
    [measured, printed] = [measured + search.measured, printed + search.prints - 1];
    if (!new PrintSearch(host, targets, buses, start).isBetter(found, best)) break;
    best = found;
  }
  return { end: best, queries: measured, prints: printed };
};

/**
 * The search for the targets; where a range was missed and prints differed from their predictions, also the search for "max" or "min" of its
 * figure, which passes the range or ends nearest to it: so any value that "max" reaches can be asked for.
 */
const searched = async (
  host: SolveHost,
  targets: readonly Target[],
  buses: readonly MovableBus[],
  start: Tried,
): Promise<Ended> => {
  const search = new PrintSearch(host, targets, buses, start);
  const end = (await search.run()).at(-1)!;
  const ended = { end, queries: search.measured, prints: search.prints };
  const missed = search.hasLearned ? missedRange(targets, end) : null;
  if (!missed) return search.hasLearned ? furthest(host, targets, buses, start, ended) : ended;
  const { target, isLow, edge, further } = missed;
  const isPast = (tried: Tried): boolean => {
    const reached = valueIn(target, tried);
    return reached !== null && (isLow ? reached >= edge : reached <= edge);
  };
  const farther = new PrintSearch(host, further, buses, start);
  const way = await farther.run(isPast);
  const last = way.at(-1)!;
  const before = way.at(-2);
  const closed = before && isPast(last) ? await search.closeIn(target, edge, before, last) : null;
  const best = [last, ...(closed ? [closed] : [])].reduce((a, b) => (search.isBetter(b, a) ? b : a), end);
  // Both count the start.
  return { end: best, queries: search.measured + farther.measured, prints: search.prints + farther.prints - 1 };
};

/**
 * Finds blends at which the targets are met within the guards, moving the buses that sound no more than needed; a
 * target of "max" or "min" moves them as far as the guards and the reach of the blends allow. Targets and guards are
 * those of the print, as `check` measures them: predictions from the blend before the mix bus are printed, and only
 * printed results are reported. Where all targets cannot be met together they are taken in their order, each as near as guards
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
  host.onPrint?.(start);
  const ended = await searched(host, targets, buses, start);
  return solutionOf(buses, start, ended, targets, reach);
};

const isActive = ({ name, value, limit, unit }: GuardResult, kept: number | null): boolean =>
  value !== null && Math.abs(value - (kept ?? limit)) <= (isPeakGuard(name) ? AT_PEAK_LIMIT : AT_LIMIT) * scaleOf(unit);

const movesOf = (buses: readonly MovableBus[], settings: readonly number[]): BlendMove[] =>
  buses.map(({ id, name, startDb, low, high }, n) => {
    const toDb = writtenDb(settings[n]!);
    const atLimit = toDb <= low + AT_LIMIT ? 'low' : toDb >= high - AT_LIMIT ? 'high' : null;
    return { id, name, fromDb: writtenDb(startDb), toDb, movedDb: writtenDb(toDb - startDb), atLimit };
  });

const solutionOf = (
  buses: readonly MovableBus[],
  start: Tried,
  { end, queries, prints }: Ended,
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
