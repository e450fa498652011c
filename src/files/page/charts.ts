import { scaleLinear } from 'd3-scale';
import { line } from 'd3-shape';
import { clock } from '../../audio/clock.ts';
import type { Figures } from '../../measure/figures.ts';
import { SERIES_HOP } from '../../measure/time-series.ts';
import {
  bandBars,
  bandLine,
  bandX,
  evenRange,
  spectrumAgainst,
  widthByBand,
  valueY,
  type Chart,
} from './band-geometry.ts';
import { escaped } from './escaped.ts';

// Charts of a page as SVG: their colours are those of the page, so that they follow its light and dark.

export const WIDTH = 640;
const HEIGHT = 150;
/** Margin left of a chart for its levels, and below it for the labels of its axis, px. */
const [LEFT, BELOW, ABOVE] = [40, 20, 8];

/** Frequencies that are named below a chart of bands, Hz. */
const MARKS: readonly (readonly [number, string])[] = [
  [50, '50 Hz'],
  [100, '100'],
  [200, '200'],
  [500, '500'],
  [1000, '1 kHz'],
  [2000, '2'],
  [5000, '5'],
  [10_000, '10'],
];

interface Frame {
  /** Text alternative of the chart, for screen readers. */
  readonly label: string;
  readonly chart: Chart;
  readonly levels: readonly number[];
  /** Labels of the horizontal axis: positions and texts. */
  readonly along: readonly (readonly [x: number, words: string])[];
}

export const framed = ({ label, chart, levels, along }: Frame, inside: string): string => {
  const y = valueY(chart);
  const rules = levels.map(
    (level) =>
      `<line class="rule" x1="0" x2="${chart.width}" y1="${y(level)}" y2="${y(level)}"/><text x="-6" y="${y(level)}" dy="0.35em" text-anchor="end">${`${level}`.replace('-', '\u2212')}</text>`,
  );
  const marks = along.map(
    ([x, words]) =>
      `<text x="${x.toFixed(1)}" y="${chart.height + 15}" text-anchor="${x > chart.width - 12 ? 'end' : 'middle'}">${escaped(words)}</text>`,
  );
  const [width, height] = [chart.width + LEFT + 8, chart.height + ABOVE + BELOW];
  return `<svg viewBox="0 0 ${width} ${height}" role="img" aria-label="${escaped(label)}"><g transform="translate(${LEFT} ${ABOVE})">${rules.join('')}${marks.join('')}${inside}</g></svg>`;
};

export const alongBands = (width: number): Frame['along'] => MARKS.map(([hz, words]) => [bandX(width)(hz), words]);

/** A chart with its title and legend. */
export const figure = (
  title: string,
  svg: string,
  names: readonly (readonly [className: string, name: string])[],
): string => {
  const keys = names.map(([kind, name]) => `<span class="key ${kind}">${escaped(name)}</span>`).join(' ');
  return `<figure><figcaption><b>${escaped(title)}</b> ${keys}</figcaption>${svg}</figure>`;
};

/** One of the two compared sounds. */
export interface Compared {
  readonly name: string;
  readonly figures: Figures;
  /** Short-term loudness, one value every 10 ms, LUFS; NaN where there is none. */
  readonly shortTermLufs: Float64Array;
}

const spectrumChart = (before: Compared, after: Compared): string => {
  const values = spectrumAgainst(before.figures, after.figures);
  const reach = evenRange(values, [3, 6, 12, 24]);
  const chart: Chart = { width: WIDTH, height: HEIGHT, low: -reach, high: reach };
  const bars = bandBars(values, chart).map(
    ({ x, y, width, height }) =>
      `<rect class="after" x="${x.toFixed(1)}" y="${y.toFixed(1)}" width="${width.toFixed(1)}" height="${height.toFixed(1)}"/>`,
  );
  const title = `Spectrum against the ${before.name}, dB, both at one loudness`;
  const frame = { label: title, chart, levels: [-reach, -reach / 2, 0, reach / 2, reach], along: alongBands(WIDTH) };
  return figure(title, framed(frame, bars.join('')), []);
};

export const path = (className: string, d: string): string => `<path class="line ${className}" d="${d}"/>`;

const keysOf = (before: Compared, after: Compared) =>
  [
    ['after', after.name],
    ['before', before.name],
  ] as const;

/** Ends of an axis that hold all values, in steps of `step`. */
const ends = (values: readonly number[], step: number, [least, most]: readonly [number, number]): [number, number] => {
  if (values.length === 0) return [least, most];
  const low = Math.max(least, Math.floor(Math.min(...values) / step) * step);
  const high = Math.min(most, Math.ceil(Math.max(...values) / step) * step);
  return low < high ? [low, high] : [least, most];
};

export const levelsOf = (low: number, high: number, step: number): number[] =>
  Array.from({ length: Math.floor((high - low) / step) + 1 }, (_, n) => low + n * step);

const widthChart = (before: Compared, after: Compared): string => {
  const courses = [widthByBand(before.figures), widthByBand(after.figures)] as const;
  const values = courses.flat().flatMap(({ hz, value }) => (value === null || hz < 20 || hz > 20_000 ? [] : [value]));
  const [low, high] = ends(values, 10, [-60, 20]);
  const chart: Chart = { width: WIDTH, height: HEIGHT, low, high };
  const lines = [path('before', bandLine(courses[0], chart)), path('after', bandLine(courses[1], chart))];
  const title = 'Width by band: side to mid, dB';
  const frame = { label: title, chart, levels: levelsOf(low, high, 10), along: alongBands(WIDTH) };
  return figure(title, framed(frame, lines.join('')), keysOf(before, after));
};

/** Values of a series for each value of a chart, as a chart cannot show more values than pixels. */
const thinned = (series: Float64Array, most: number): [second: number, value: number][] => {
  const step = Math.max(1, Math.ceil(series.length / most));
  return Array.from({ length: Math.floor(series.length / step) }, (_, n): [number, number] => {
    const at = (n + 1) * step - 1;
    return [(at + 1) * SERIES_HOP, series[at]!];
  });
};

/** Seconds between marks of the time axis, for 4 to 10 marks. */
export const timeStep = (seconds: number): number =>
  [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200].find((step) => seconds / step <= 10) ?? 3600;

const loudnessChart = (before: Compared, after: Compared): string => {
  const courses = [before, after].map(({ shortTermLufs }) => thinned(shortTermLufs, WIDTH));
  const seconds = Math.max(...[before, after].map(({ shortTermLufs }) => shortTermLufs.length * SERIES_HOP));
  const heard = courses.flat().flatMap(([, value]) => (value > -50 ? [value] : []));
  const [low, high] = ends(heard, 6, [-48, 0]);
  const chart: Chart = { width: WIDTH, height: HEIGHT, low, high };
  const x = scaleLinear([0, seconds], [0, WIDTH]);
  const y = valueY(chart);
  const drawn = line<[number, number]>(
    ([at]) => x(at),
    ([, value]) => y(value),
  )
    .defined(([, value]) => !Number.isNaN(value))
    .digits(1);
  const step = timeStep(seconds);
  const along = Array.from({ length: Math.floor(seconds / step) + 1 }, (_, n) => n * step).map(
    (at) => [x(at), clock(at)] as const,
  );
  const lines = courses.map((course, n) => path(n === 0 ? 'before' : 'after', drawn(course) ?? ''));
  const title = 'Short-term loudness over the song, LUFS';
  return figure(
    title,
    framed({ label: title, chart, levels: levelsOf(low, high, 6), along }, lines.join('')),
    keysOf(before, after),
  );
};

/** Charts of the mix against its reference: spectrum, width by band, loudness over time. */
export const comparisonCharts = (before: Compared, after: Compared): string =>
  [spectrumChart, widthChart, loudnessChart].map((chart) => chart(before, after)).join('\n');

/** A path and its part of the loudness, 1 for all of it. */
interface SharedPath {
  readonly name: string;
  readonly share: number | null;
}

export const ROW = 22;

/** Shares of loudness as bars; negative shares are drawn left of zero. */
export const shareChart = (paths: readonly SharedPath[]): string => {
  if (paths.length === 0) return '';
  const shares = paths.map(({ share }) => share ?? 0);
  const names = 180;
  const x = scaleLinear([Math.min(0, ...shares), Math.max(0.01, ...shares)], [names, WIDTH - 50]);
  const rows = paths.map(({ name, share }, n) => {
    const [from, to] = [x(Math.min(0, share ?? 0)), x(Math.max(0, share ?? 0))];
    const text = share === null ? '\u2013' : `${(100 * share).toFixed(1).replace('-', '\u2212')} %`;
    const shown = name.length > 26 ? `${name.slice(0, 25)}…` : name;
    return `<text x="${names - 8}" y="${n * ROW + 15}" text-anchor="end">${escaped(shown)}</text><rect class="after" x="${from.toFixed(1)}" y="${n * ROW + 4}" width="${Math.max(1, to - from).toFixed(1)}" height="${ROW - 8}"/><text x="${(to + 6).toFixed(1)}" y="${n * ROW + 15}">${text}</text>`;
  });
  const title = 'Share of the loudness before the mix bus';
  const svg = `<svg viewBox="0 0 ${WIDTH + 48} ${paths.length * ROW + 4}" role="img" aria-label="${title}">${rows.join('')}</svg>`;
  return figure(title, svg, []);
};
