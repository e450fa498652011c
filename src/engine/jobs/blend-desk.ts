import { groupSharesOf, originsOf, ownOrigins } from '../../blend/guards/balance.ts';
import { GuardedBlend, type BenchPath, type BlendBench } from '../../blend/solve/blend-bench.ts';
import type { BlendQuery } from '../../blend/gram/blend-query.ts';
import { bringUp } from '../../blend/solve/bring-up.ts';
import { guardedFigures } from '../../blend/guards/guard-references.ts';
import { checkGuards, type Guarded, type GuardReference, type GuardResult } from '../../blend/guards/guards.ts';
import type { LedgerBasis } from '../../blend/ledger/ledger.ts';
import { twinSteps, type Twin } from '../../blend/ledger/path-alignment.ts';
import type { QueryPath } from '../../blend/gram/make-blend-query.ts';
import { buildSteps } from '../../blend/gram/make-blend-query.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import type { PlanMixBus } from '../../render/plan.ts';
import { guardsInForce, guardSets } from '../../session/guard-set.ts';
import type { Session } from '../../session/schema.ts';
import type { SideFindings } from '../engine.ts';
import type { Answers, BlendQuestion } from '../questions.ts';

/** What mixes are held against: those that are there, measured over the whole song. */
export interface References {
  readonly rough: SideFindings | null;
  readonly received: SideFindings | null;
  /** Share of each group in the mix as received. */
  readonly receivedShares: ReadonlyMap<string, number> | null;
}

/** The blend in hand as questions look at it. */
export interface Desk {
  readonly session: Session;
  readonly basis: LedgerBasis;
  /** Linear, in the order of the basis. */
  readonly gains: readonly number[];
  readonly mixBus: PlanMixBus;
  readonly references: References;
}

const guardedSide = (side: SideFindings, groupShares: Guarded['groupShares']): Guarded =>
  guardedFigures(side, side.details, groupShares);

export const referencesOf = ({ rough, received, receivedShares }: References): GuardReference[] => [
  ...(rough ? [{ name: 'rough' as const, ...guardedSide(rough, null) }] : []),
  ...(received ? [{ name: 'mix as received' as const, ...guardedSide(received, receivedShares) }] : []),
];

const benchPathsOf = (session: Session, inputs: readonly QueryPath[]): BenchPath[] => {
  const groups = new Map(session.groups.map(({ id, name }) => [id, name]));
  const buses = new Map(session.buses.map(({ id, name }) => [id, name]));
  return inputs.map(({ id, audio }) => ({
    id,
    name: groups.get(id) ?? buses.get(id) ?? id,
    kind: groups.has(id) ? 'group' : 'bus',
    audio,
  }));
};

/** What a bench is made of: paths over one stretch, their query, and what their blends are held against there. */
interface BenchParts extends Pick<Desk, 'session' | 'gains' | 'mixBus'> {
  readonly inputs: readonly QueryPath[];
  readonly query: BlendQuery;
  readonly references: readonly GuardReference[];
}

/** A bench out of its parts. */
export const benchFrom = ({ session, inputs, query, gains, mixBus, references }: BenchParts): BlendBench => {
  const alone = (place: number): number[] => query.ids.map((_, n) => (n === place ? 1 : 0));
  const loudness = new Map(query.ids.map((id, n) => [id, query.essentials(alone(n)).integratedLufs]));
  return {
    paths: benchPathsOf(session, inputs),
    query,
    gains,
    trimDb: mixBus.steps.length > 0 ? null : decibelsOf(mixBus.trimGain),
    origins: originsOf(session, loudness),
    guards: guardsInForce(session.guards, guardSets[0]!),
    references,
  };
};

/** The bench that solver and guards work on: the mix as it stands, over the whole song. */
export const benchOf = ({ basis, references, ...desk }: Desk): BlendBench =>
  benchFrom({ ...desk, inputs: basis.inputs, query: basis.query, references: referencesOf(references) });

/** Guards of the print; its balance is that before the mix bus. */
export const printGuards = (bench: BlendBench, printed: SideFindings): GuardResult[] => {
  const shares = new GuardedBlend(bench, bench.gains).groupShares;
  return checkGuards(bench.guards, guardedSide(printed, shares), bench.references);
};

/** What is told of the groups as received. */
export interface ReceivedGroups {
  /** Share of each in the mix as received; null in silence. */
  readonly shares: ReadonlyMap<string, number> | null;
  /** Those that are one sound with another. */
  readonly twins: ReadonlyMap<string, Twin>;
}

/** Measures the groups as received, step by step. */
export function* receivedGroupsSteps(groups: readonly QueryPath[]): Generator<number, ReceivedGroups> {
  if (groups.length === 0) return { shares: null, twins: new Map() };
  const query = yield* buildSteps(groups);
  const shares = query.shares(query.ids.map(() => 1));
  return {
    shares: groupSharesOf(query.ids, shares, ownOrigins(query.ids)),
    twins: yield* twinSteps(groups, query, 0),
  };
}

/** Making the bench is about this part of an answer. */
const BENCH_PART = 0.1;

/** The mix as it is brought up bus by bus; each step yields the part done, 0..1. */
export function* bringUpSteps(
  { order, downDb }: Extract<BlendQuestion, { kind: 'bring up' }>,
  desk: Desk,
): Generator<number, Answers['bring up']> {
  const bench = benchOf(desk);
  yield BENCH_PART;
  return bringUp(bench.query, bench.gains, order, downDb);
}
