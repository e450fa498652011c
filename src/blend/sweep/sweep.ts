import type { FigureChange } from '../../measure/change.ts';
import { slopeOf } from '../../measure/details.ts';
import type { Figures } from '../../measure/figures.ts';
import {
  SHOWN_FIGURES,
  shownFigureOf,
  type ShownFigure,
  type ShownKey,
} from '../../measure/definitions/shown-figures.ts';
import type { Guard } from '../../session/schema.ts';
import { AUDIBLE_RULE, isAudible } from '../ledger/audible.ts';
import { blendGain, GuardedBlend, type BlendSpace } from '../solve/blend-space.ts';
import { onsetsOfBlend, type BlendOnsets } from '../gram/blend-onsets.ts';
import { checkGuards, type GuardResult } from '../guards/guards.ts';
import { kneeOf } from './knee.ts';
import { matchedChangeOf, matchGainOf } from '../../measure/levelled.ts';

/** A bus and the blends that it is swept through, dB, from `from` up to `to`. */
export interface SweepAxis {
  readonly bus: string;
  readonly from: number;
  readonly to: number;
  readonly step: number;
}

/** All figures of a blend, before the mix bus. */
export interface SweepFigures extends Figures, BlendOnsets {
  readonly slopeDbPerOctave: number | null;
  readonly lowsCorrelation: number | null;
}

export interface SweepRow extends SweepFigures {
  readonly blendDb: number;
  /** Blend of the second bus of a grid. */
  readonly secondBlendDb?: number;
  /** The row less the reference, the row brought to the loudness of the reference. */
  readonly change: FigureChange;
  /** Gain, dB, that brings the row to the loudness of the reference. */
  readonly matchGainDb: number | null;
  readonly guards: readonly GuardResult[];
}

/** A blend at which a guard starts or stops being broken. */
interface GuardMark {
  readonly guard: Guard;
  /** dB, to 0.01. */
  readonly blendDb: number;
  /** It keeps its limit below this blend and breaks it above, or the other way round. */
  readonly breaks: 'above' | 'below';
}

export interface SweepMarks {
  readonly guards: readonly GuardMark[];
  /** Guards that are broken along the whole sweep. */
  readonly brokenThroughout: readonly Guard[];
  /** Lowest blend from which the bus is audible, by `rule`; null: not in this range, or already below it. */
  readonly audible: { readonly blendDb: number | null; readonly rule: string; readonly sentence: string };
  /** Knee of each curve that has one. */
  readonly knees: readonly { readonly figure: ShownKey; readonly blendDb: number }[];
}

export interface Sweep {
  readonly rows: readonly SweepRow[];
  /** null in a grid. */
  readonly marks: SweepMarks | null;
}

/** Blends of an axis, dB, `to` always included. */
export const axisBlends = ({ from, to, step }: SweepAxis): number[] => {
  const count = Math.floor((to - from) / step + 1e-9);
  const blends = Array.from({ length: count + 1 }, (_, n) => Number((from + n * step).toFixed(6)));
  return to - blends.at(-1)! > 1e-6 ? [...blends, to] : blends;
};

const withBlend = (space: BlendSpace, gains: readonly number[], bus: string, db: number): number[] =>
  gains.with(space.query.ids.indexOf(bus), blendGain(db));

/** All figures of one blend. */
export const sweepFigures = ({ paths, query }: BlendSpace, gains: readonly number[]): SweepFigures => {
  const figures = query.allFigures(gains);
  return {
    ...figures,
    slopeDbPerOctave: slopeOf(figures.bands),
    lowsCorrelation: query.lowsCorrelation(gains),
    ...onsetsOfBlend(
      paths.map(({ audio }) => audio),
      gains,
    ),
  };
};

const guardsAt = (space: BlendSpace, gains: readonly number[], figures: Figures): GuardResult[] => {
  const known = { essentials: figures, truePeakDbtp: figures.truePeakDbtp };
  return checkGuards(space.guards, new GuardedBlend(space, gains, known), space.references);
};

/** The blend or blends of one row of a sweep. */
export type SweepPoint = Pick<SweepRow, 'blendDb' | 'secondBlendDb'>;

/** All points of an axis, or of a grid of two. */
export const sweepPoints = (axis: SweepAxis, second?: SweepAxis): SweepPoint[] =>
  axisBlends(axis).flatMap((blendDb): SweepPoint[] =>
    second ? axisBlends(second).map((secondBlendDb) => ({ blendDb, secondBlendDb })) : [{ blendDb }],
  );

/** The row of one point, whose blend has these gains. */
const sweepRow = (space: BlendSpace, gains: readonly number[], point: SweepPoint, reference: Figures): SweepRow => {
  const figures = sweepFigures(space, gains);
  return {
    ...point,
    ...figures,
    change: matchedChangeOf(reference, figures),
    matchGainDb: matchGainOf(reference, figures),
    guards: guardsAt(space, gains, figures),
  };
};

/**
 * The rows of some points, one by one; each step yields the part done, 0..1, and `onRow` is called with each row as soon as it
 * is computed. Onsets are measured on the sum, which takes most of the time.
 */
export function* sweepRowSteps(
  space: BlendSpace,
  points: readonly SweepPoint[],
  axis: SweepAxis,
  reference: Figures,
  second?: SweepAxis,
  onRow: (row: SweepRow) => void = () => {},
): Generator<number, SweepRow[]> {
  const rows: SweepRow[] = [];
  for (const point of points) {
    const led = withBlend(space, space.gains, axis.bus, point.blendDb);
    const gains = second ? withBlend(space, led, second.bus, point.secondBlendDb!) : led;
    const row = sweepRow(space, gains, point, reference);
    rows.push(row);
    onRow(row);
    yield rows.length / points.length;
  }
  return rows;
}

/**
 * Sweeps one bus, or two as a grid, through a range of blends, all others unchanged; yields as `sweepRowSteps` does.
 */
export function* sweepSteps(
  space: BlendSpace,
  axis: SweepAxis,
  reference: Figures,
  second?: SweepAxis,
  onRow?: (row: SweepRow) => void,
): Generator<number, Sweep> {
  const rows = yield* sweepRowSteps(space, sweepPoints(axis, second), axis, reference, second, onRow);
  return { rows, marks: second ? null : marksOf(space, axis, rows) };
}

/** Accuracy of the marks between rows, dB. */
const PRECISION = 0.01;

/** Where between two blends, dB, `holds` changes from what it is at `low` to what it is at `high`. */
const boundary = (low: number, high: number, holdsAtLow: boolean, holds: (db: number) => boolean): number => {
  while (high - low > PRECISION) {
    const middle = (low + high) / 2;
    if (holds(middle) === holdsAtLow) low = middle;
    else high = middle;
  }
  return Number(((low + high) / 2).toFixed(2));
};

const guardMarks = (space: BlendSpace, bus: string, rows: readonly SweepRow[]): GuardMark[] =>
  space.guards
    .filter(({ on }) => on)
    .flatMap((guard, place) => {
      const holds = (db: number): boolean => {
        const blend = new GuardedBlend(space, withBlend(space, space.gains, bus, db));
        return checkGuards([guard], blend, space.references)[0]!.pass;
      };
      return rows.slice(1).flatMap((row, n): GuardMark[] => {
        const before = rows[n]!;
        const kept = before.guards[place]!.pass;
        if (kept === row.guards[place]!.pass) return [];
        const blendDb = boundary(before.blendDb, row.blendDb, kept, holds);
        return [{ guard: guard.guard, blendDb, breaks: kept ? 'above' : 'below' }];
      });
    });

const audibleMark = (space: BlendSpace, bus: string, rows: readonly SweepRow[]): SweepMarks['audible'] => {
  const without = space.query.essentials(withBlend(space, space.gains, bus, -Infinity));
  const heard = (db: number): boolean =>
    isAudible(without, space.query.essentials(withBlend(space, space.gains, bus, db)));
  const first = rows.findIndex((row) => isAudible(without, row));
  const said = (blendDb: number | null, sentence: string): SweepMarks['audible'] => {
    return { blendDb, rule: AUDIBLE_RULE, sentence };
  };
  if (first < 0) return said(null, 'The bus changes nothing that is heard in this range.');
  if (first === 0) return said(null, 'The bus is heard from below this range on.');
  const blendDb = boundary(rows[first - 1]!.blendDb, rows[first]!.blendDb, false, heard);
  return said(blendDb, `The bus is heard from ${blendDb.toFixed(2)} dB on.`);
};

/** Figures whose curves are searched for knees. */
const KNEE_FIGURES: readonly ShownFigure[] = SHOWN_FIGURES.filter(({ knee }) => knee);

/** Rows at even steps: a last one beyond the steps is left out. */
const even = (rows: readonly SweepRow[], step: number): readonly SweepRow[] => {
  const [last, before] = [rows.at(-1), rows.at(-2)];
  return last && before && last.blendDb - before.blendDb < step - 1e-6 ? rows.slice(0, -1) : rows;
};

const marksOf = (space: BlendSpace, { bus, step }: SweepAxis, rows: readonly SweepRow[]): SweepMarks => {
  const evenly = even(rows, step);
  return {
    guards: guardMarks(space, bus, rows),
    brokenThroughout: rows[0]!.guards
      .filter((_, place) => rows.every(({ guards }) => !guards[place]!.pass))
      .map(({ name }) => name),
    audible: audibleMark(space, bus, rows),
    knees: KNEE_FIGURES.flatMap(({ key }) => {
      const knee = kneeOf(evenly.map((row) => shownFigureOf(row, key)));
      return knee === null ? [] : [{ figure: key, blendDb: evenly[knee]!.blendDb }];
    }),
  };
};
