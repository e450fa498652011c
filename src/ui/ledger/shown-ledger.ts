import type { LedgerRow } from '../../blend/ledger/ledger.ts';
import type { Session } from '../../session/schema.ts';
import { busRows, groupRows, type PathRow } from '../bench/paths.ts';
import type { PathFindings } from '../../engine/engine.ts';

/** A row as far as the panel shows it. */
export interface ShownRow extends Pick<PathFindings, 'shareOfLoudness' | 'flags' | 'sentence'> {
  readonly id: string;
  /** null: not known yet. */
  readonly change: PathFindings['change'] | null;
  /** What the path does alone; null: not measured, or not yet. */
  readonly firstIn: LedgerRow['firstIn'];
  readonly alignment: Pick<PathFindings['alignment'], 'cancelsDb'>;
}

/** A row of which something is known. */
export type MeasuredRow = ShownRow & { readonly change: PathFindings['change'] };

export const isMeasured = (row: ShownRow): row is MeasuredRow => row.change !== null;

/** A row with the path that it is of. */
export interface PlacedRow {
  readonly path: PathRow;
  readonly row: ShownRow;
}

/** Rows beside their paths, in the order of the table of paths. */
export const placedRows = (session: Session, rows: readonly ShownRow[]): PlacedRow[] => {
  const byId = new Map(rows.map((row) => [row.id, row]));
  return [...groupRows(session), ...busRows(session)].flatMap((path) => {
    const row = byId.get(path.id);
    return row ? [{ path, row }] : [];
  });
};

const unknown = (id: string): ShownRow => ({
  ...{ id, shareOfLoudness: null, change: null, flags: [], sentence: '', firstIn: null },
  alignment: { cancelsDb: null },
});

/** What is there before the whole ledger is: all paths, of the whole song with what is known live, in whose place come the measured rows. */
export const rowsSoFar = (
  { groups, buses }: Pick<Session, 'groups' | 'buses'>,
  live: ReadonlyMap<string, PathFindings> | null,
  coming: readonly LedgerRow[],
): readonly ShownRow[] => [
  ...[...groups, ...buses].map(({ id }) => unknown(id)),
  ...[...(live ?? [])].map(([id, findings]): ShownRow => ({ ...findings, id, firstIn: null })),
  ...coming,
];
