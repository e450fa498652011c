import type { Sweep, SweepRow } from '../../blend/sweep/sweep.ts';
import { counted, plain } from '../shared/format.ts';

/** The guards that a row breaks. */
export const brokenBy = (row: SweepRow): readonly string[] =>
  row.guards.filter(({ pass }) => !pass).map(({ name }) => name);

/** Stretches of rows, first and last, in which something holds. */
export const runsOf = (
  rows: readonly SweepRow[],
  holds: (row: SweepRow) => boolean,
): (readonly [first: number, last: number])[] => {
  const runs: [number, number][] = [];
  rows.forEach((row, n) => {
    if (!holds(row)) return;
    const run = runs.at(-1);
    if (run && run[1] === n - 1) run[1] = n;
    else runs.push([n, n]);
  });
  return runs;
};

const isGrid = ({ rows }: Sweep): boolean => rows[0]?.secondBlendDb !== undefined;

/** Where the rows break one guard, as far as rows alone can tell. */
const rowWords = ({ rows }: Sweep, guard: string): string => {
  const breaks = (row: SweepRow): boolean => brokenBy(row).includes(guard);
  const spans = runsOf(rows, breaks).map(([first, last]) => {
    const [from, to] = [plain(rows[first]!.blendDb), plain(rows[last]!.blendDb)];
    return first === last ? `at ${from} dB` : `from ${from} to ${to} dB`;
  });
  return `“${guard}” is broken ${spans.join(' and ')}`;
};

const cellWords = ({ rows }: Sweep, guard: string): string => {
  const count = rows.filter((row) => brokenBy(row).includes(guard)).length;
  return `“${guard}” is broken in ${count} of ${counted(rows.length, 'cell')}`;
};

/** A sentence for every guard that is broken somewhere along a sweep, without its full stop. */
export const guardWords = (sweep: Sweep): readonly string[] => {
  const { marks, rows } = sweep;
  if (marks) {
    return [
      ...marks.guards.map(({ guard, blendDb, breaks }) => `“${guard}” breaks ${breaks} ${plain(blendDb)} dB`),
      ...marks.brokenThroughout.map((guard) => `“${guard}” is broken at every blend`),
    ];
  }
  return [...new Set(rows.flatMap(brokenBy))].map((guard) => {
    if (rows.every((row) => brokenBy(row).includes(guard))) return `“${guard}” is broken at every blend`;
    return isGrid(sweep) ? cellWords(sweep, guard) : rowWords(sweep, guard);
  });
};
