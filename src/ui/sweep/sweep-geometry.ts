import { scaleLinear } from 'd3-scale';
import { line } from 'd3-shape';
import type { Sweep, SweepRow } from '../../blend/sweep/sweep.ts';
import { shortLabel } from '../../measure/definitions/figure-definition.ts';
import { SHOWN_FIGURES, shownFigureOf } from '../../measure/definitions/shown-figures.ts';
import { brokenBy, runsOf } from './sweep-words.ts';

/** A figure that is drawn along a sweep. */
export interface SweepCurve {
  readonly key: string;
  readonly label: string;
  readonly unit: string;
  readonly decimals: number;
  /** Least height of the chart, in the unit: a steady figure is not to look like a mountain. */
  readonly span: number;
  /** Least and greatest value that there is; absent: no end. */
  readonly least?: number | undefined;
  readonly most?: number | undefined;
  readonly valueOf: (row: SweepRow) => number | null;
}

export const SWEEP_CURVES: readonly SweepCurve[] = SHOWN_FIGURES.flatMap((figure) => {
  const { key, unit, decimals, sweepSpan: span, least, most } = figure;
  if (span === undefined) return [];
  return [
    { key, label: shortLabel(figure), unit, decimals, span, least, most, valueOf: (row) => shownFigureOf(row, key) },
  ];
});

export interface CurveFrame {
  readonly width: number;
  readonly height: number;
  readonly low: number;
  readonly high: number;
}

/** From blends, dB, to places across; `from` and `to` are the ends of the sweep. */
export const blendX = (
  { width }: Pick<CurveFrame, 'width'>,
  { from, to }: { readonly from: number; readonly to: number },
) => scaleLinear([from, to], [0, width]).clamp(true);

export const curveY = ({ height, low, high }: CurveFrame) => scaleLinear([low, high], [height, 0]).clamp(true);

/** Ends that hold the whole curve, at least `span` apart, and show no values that there are none of. */
export const curveEnds = (
  rows: readonly SweepRow[],
  { valueOf, span, least = -Infinity, most = Infinity }: Pick<SweepCurve, 'valueOf' | 'span' | 'least' | 'most'>,
): readonly [low: number, high: number] => {
  const values = rows.map(valueOf).filter((value) => value !== null);
  if (values.length === 0) return [0, span];
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const spare = Math.max(0, span - (high - low)) / 2;
  const bottom = Math.min(Math.max(low - spare, least), Math.max(most - span, least));
  return [Math.min(low, bottom), Math.max(high, Math.min(most, Math.max(high + spare, bottom + span)))];
};

export const curveLine = (
  rows: readonly SweepRow[],
  valueOf: SweepCurve['valueOf'],
  frame: CurveFrame,
  x: (blendDb: number) => number,
): string => {
  const y = curveY(frame);
  const path = line<SweepRow>(
    (row) => x(row.blendDb),
    (row) => y(valueOf(row) ?? 0),
  ).defined((row) => valueOf(row) !== null);
  return path([...rows]) ?? '';
};

/** The value of a curve at a blend, between its rows; null where there is none, or the blend lies outside. */
export const valueAtBlend = (
  rows: readonly SweepRow[],
  valueOf: SweepCurve['valueOf'],
  blendDb: number,
): number | null => {
  const after = rows.findIndex((row) => row.blendDb >= blendDb);
  const [first, last] = [rows[Math.max(0, after - 1)], rows[after]];
  if (!first || !last || blendDb < first.blendDb) return null;
  const [from, to] = [valueOf(first), valueOf(last)];
  if (from === null || to === null || first === last) return to;
  return from + ((blendDb - first.blendDb) / (last.blendDb - first.blendDb)) * (to - from);
};

/**
 * Stretches of blends, dB, in which a guard is broken that is not so all along: to where marks say, or, where rows alone are
 * known, half-way to the next row.
 */
export const brokenSpans = ({ rows, marks }: Sweep): (readonly [from: number, to: number])[] => {
  const [least, most] = [rows[0]?.blendDb ?? 0, rows.at(-1)?.blendDb ?? 0];
  if (marks) {
    return marks.guards.map(({ blendDb, breaks }) => (breaks === 'above' ? [blendDb, most] : [least, blendDb]));
  }
  const isAlways = (guard: string): boolean => rows.every((row) => brokenBy(row).includes(guard));
  const between = (n: number, other: number): number => (rows[n]!.blendDb + (rows[other] ?? rows[n]!).blendDb) / 2;
  return runsOf(rows, (row) => brokenBy(row).some((guard) => !isAlways(guard))).map(([first, last]) => [
    between(first, first - 1),
    between(last, last + 1),
  ]);
};
