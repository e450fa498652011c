import { scaleLinear } from 'd3-scale';
import { line } from 'd3-shape';
import { valueY, type Chart } from '../../files/page/band-geometry.ts';

/** One figure over time: a value every `hopSeconds`, NaN where there is none. */
export interface Course {
  readonly values: Float32Array;
  readonly hopSeconds: number;
  /** Short-term loudness of the same, LUFS: what is far below its greatest does not choose the ends of a chart. */
  readonly loudness: Float32Array;
}

/** The relative gate of the loudness range (EBU Tech 3342), LU, here below the greatest. */
const SOFT_LU = 20;

export const timeX = (width: number, seconds: number) => scaleLinear([0, Math.max(seconds, 1e-3)], [0, width]);

/** The line of a course through the song, broken where there is nothing. */
export const courseLine = ({ values, hopSeconds }: Course, chart: Chart, seconds: number): string => {
  const x = timeX(chart.width, seconds);
  const y = valueY(chart);
  const tenth = (px: number): number => Math.round(px * 10) / 10;
  const path = line<number>(
    (_, n) => tenth(x((n + 1) * hopSeconds)),
    (value) => tenth(y(value)),
  ).defined((value, n) => Number.isFinite(value) && n * hopSeconds < seconds);
  return path(Array.from(values)) ?? '';
};

/** The value at a time; null where there is none. */
export const valueAt = ({ values, hopSeconds }: Course, seconds: number): number | null => {
  const value = values[Math.max(0, Math.ceil(seconds / hopSeconds) - 1)];
  return value === undefined || !Number.isFinite(value) ? null : value;
};

/** Values where the song sounds: not those of its fading tails. */
const sounding = ({ values, loudness }: Course): Float32Array => {
  const greatest = loudness.reduce((most, value) => (value > most ? value : most), -Infinity);
  return values.filter((value, n) => Number.isFinite(value) && !(loudness[n]! < greatest - SOFT_LU));
};

/**
 * Round ends that hold what of the courses is worth seeing: between `least` and `most`, from their 5th percentile up and
 * at most `span` down from the top, so that fades do not press the song into a corner.
 */
export const courseRange = (
  courses: readonly Course[],
  step: number,
  least: number,
  most: number,
  span: number,
): readonly [low: number, high: number] => {
  const shown = courses.map(sounding).filter(({ length }) => length > 0);
  if (shown.length === 0) return [least, most];
  const lows = shown.map((values) => values.toSorted()[Math.floor(values.length * 0.05)]!);
  const highs = shown.map((values) => values.reduce((a, b) => Math.max(a, b)));
  const high = Math.min(most, Math.ceil(Math.max(...highs) / step) * step);
  const low = Math.max(least, high - span, Math.floor(Math.min(...lows) / step) * step);
  return [low, Math.max(low + step, high)];
};
