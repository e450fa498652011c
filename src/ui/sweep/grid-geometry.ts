import type { SweepPoint, SweepRow } from '../../blend/sweep/sweep.ts';

/** A grid as it is drawn: the first bus from left to right, the second from below. */
export interface Grid {
  /** Blends of the first bus, rising. */
  readonly columns: readonly number[];
  /** Blends of the second bus, falling: the highest stands on top. */
  readonly lines: readonly number[];
  /** Line by line; null: not measured yet. */
  readonly cells: readonly (readonly (SweepRow | null)[])[];
}

/** The rows of a sweep of two buses as a grid of all its places. */
export const gridOf = (rows: readonly SweepRow[], points: readonly SweepPoint[]): Grid => {
  const columns = [...new Set(points.map(({ blendDb }) => blendDb))].toSorted((a, b) => a - b);
  const lines = [...new Set(points.map(({ secondBlendDb }) => secondBlendDb ?? 0))].toSorted((a, b) => b - a);
  const byPlace = new Map(rows.map((row) => [`${row.blendDb} ${row.secondBlendDb}`, row]));
  return {
    columns,
    lines,
    cells: lines.map((line) => columns.map((column) => byPlace.get(`${column} ${line}`) ?? null)),
  };
};

/** The place among `blends` that lies nearest to a blend. */
export const nearest = (blends: readonly number[], blendDb: number): number =>
  blends.reduce((best, each, n) => (Math.abs(each - blendDb) < Math.abs(blends[best]! - blendDb) ? n : best), 0);

/** How deep a value is tinted, 0..1, between the ends of its figure; 0 where there is none. */
export const depthOf = (value: number | null, [low, high]: readonly [number, number]): number =>
  value === null || high <= low ? 0 : Math.max(0, Math.min(1, (value - low) / (high - low)));

export interface Cell {
  readonly column: number;
  readonly line: number;
}

/** Where a key leads from a cell; null: it leads nowhere. */
export const cellAfter = ({ column, line }: Cell, key: string, { columns, lines }: Grid): Cell | null => {
  const within = (place: number, count: number): number => Math.max(0, Math.min(count - 1, place));
  const go = (by: number, down: number): Cell => ({
    column: within(column + by, columns.length),
    line: within(line + down, lines.length),
  });
  if (key === 'ArrowRight') return go(1, 0);
  if (key === 'ArrowLeft') return go(-1, 0);
  if (key === 'ArrowUp') return go(0, -1);
  if (key === 'ArrowDown') return go(0, 1);
  if (key === 'Home') return { column: 0, line };
  if (key === 'End') return { column: columns.length - 1, line };
  if (key === 'PageUp') return { column, line: 0 };
  if (key === 'PageDown') return { column, line: lines.length - 1 };
  return null;
};
