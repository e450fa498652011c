import { SERIES_HOP, type TimeSeries } from '../../measure/time-series.ts';

/** Figures over time as charts draw them: one value every `hopSeconds`, NaN where there is none. */
export interface OverTime {
  readonly hopSeconds: number;
  /** Highest of each hop. */
  readonly momentaryLufs: Float32Array;
  readonly shortTermLufs: Float32Array;
  /** Lowest of each hop. */
  readonly correlation: Float32Array;
  readonly sideToMidDb: Float32Array;
  readonly psrDb: Float32Array;
}

/** Values of a series for each value of a chart: 100 ms. */
const HOP = 10;

const highest = (a: number, b: number): number => (b > a || Number.isNaN(a) ? b : a);
const lowest = (a: number, b: number): number => (b < a || Number.isNaN(a) ? b : a);
const last = (_: number, b: number): number => b;

const gathered = (series: Float64Array, pick: (a: number, b: number) => number): Float32Array =>
  Float32Array.from({ length: Math.ceil(series.length / HOP) }, (_, hop) =>
    series.subarray(hop * HOP, (hop + 1) * HOP).reduce(pick, Number.NaN),
  );

/** The series for the screen, reduced to its resolution. */
export const overTimeOf = (series: TimeSeries): OverTime => ({
  hopSeconds: HOP * SERIES_HOP,
  momentaryLufs: gathered(series.momentaryLufs, highest),
  shortTermLufs: gathered(series.shortTermLufs, last),
  correlation: gathered(series.correlation, lowest),
  sideToMidDb: gathered(series.sideToMidDb, last),
  psrDb: gathered(series.psrDb, last),
});
