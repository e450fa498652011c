import { groupSharesOf, ownOrigins } from '../../blend/guards/balance.ts';
import { buildOnceSteps, type QueryPath } from '../../blend/gram/make-blend-query.ts';
import { laterPeakBoundsOf } from '../../blend/peaks/peak-bounds.ts';
import { twinSteps, type Twin } from '../../blend/ledger/path-alignment.ts';

/** Measurements of the groups as received. */
export interface ReceivedGroups {
  /** Share of each in the mix as received; null in silence. */
  readonly shares: ReadonlyMap<string, number> | null;
  /** Groups that hold the same sound as another. */
  readonly twins: ReadonlyMap<string, Twin>;
}

/** Measures the groups as received, step by step. */
export function* receivedGroupsSteps(groups: readonly QueryPath[]): Generator<number, ReceivedGroups> {
  if (groups.length === 0) return { shares: null, twins: new Map() };
  const query = yield* buildOnceSteps(groups, undefined, laterPeakBoundsOf);
  const shares = query.shares(query.ids.map(() => 1));
  return {
    shares: groupSharesOf(query.ids, shares, ownOrigins(query.ids)),
    twins: yield* twinSteps(groups, query, 0),
  };
}
