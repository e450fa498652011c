import { scaleLinear } from 'd3-scale';
import { line } from 'd3-shape';
import { clock } from '../audio/clock.ts';
import { bandLine, valueY, type BandValue, type Chart } from '../files/page/band-geometry.ts';
import { alongBands, figure, framed, levelsOf, path, ROW, timeStep, WIDTH } from '../files/page/charts.ts';
import { escaped } from '../files/page/escaped.ts';

// Charts of the page of what was received.

const HEIGHT = 130;

/** Ends of an axis in dB, and from one level that is named to the next. */
interface Axis {
  readonly low: number;
  readonly high: number;
  readonly step: number;
}

/** A line over third octaves. */
export const bandChart = (title: string, values: readonly BandValue[], { low, high, step }: Axis): string => {
  const chart: Chart = { width: WIDTH, height: HEIGHT, low, high };
  const frame = { label: title, chart, levels: levelsOf(low, high, step), along: alongBands(WIDTH) };
  return figure(title, framed(frame, path('after', bandLine(values, chart))), []);
};

interface Point {
  readonly seconds: number;
  readonly levelDb: number | null;
}

/** A line over the song. */
export const courseChart = (title: string, points: readonly Point[], { low, high, step }: Axis): string => {
  const seconds = Math.max(1, points.at(-1)?.seconds ?? 0);
  const chart: Chart = { width: WIDTH, height: HEIGHT, low, high };
  const [x, y] = [scaleLinear([0, seconds], [0, WIDTH]), valueY(chart)];
  const drawn = line<Point>(
    (point) => x(point.seconds),
    ({ levelDb }) => y(levelDb ?? 0),
  )
    .defined(({ levelDb }) => levelDb !== null)
    .digits(1);
  const every = timeStep(seconds);
  const along = Array.from({ length: Math.floor(seconds / every) + 1 }, (_, n) => n * every).map(
    (at) => [x(at), clock(at)] as const,
  );
  const frame = { label: title, chart, levels: levelsOf(low, high, step), along };
  return figure(title, framed(frame, path('after', drawn([...points]) ?? '')), []);
};

/** A level and its standard error, dB. */
export interface LevelWithError {
  readonly name: string;
  readonly levelDb: number;
  readonly errorDb: number;
}

const NAMES = 180;

/** Levels as points, each with its 95 % error to both sides (1.96 standard errors). */
export const levelChart = (title: string, rows: readonly LevelWithError[]): string => {
  if (rows.length === 0) return '';
  const reach = ({ levelDb, errorDb }: LevelWithError): [number, number] => [
    levelDb - 1.96 * errorDb,
    levelDb + 1.96 * errorDb,
  ];
  const all = rows.flatMap(reach);
  const x = scaleLinear([Math.min(...all) - 1, Math.max(...all) + 1], [NAMES, WIDTH - 60]);
  const drawn = rows.map((row, n) => {
    const middle = n * ROW + 11;
    const [from, to] = reach(row).map((db) => x(db).toFixed(1));
    const name = row.name.length > 26 ? `${row.name.slice(0, 25)}…` : row.name;
    const text = `${row.levelDb.toFixed(1).replace('-', '\u2212')} ± ${(1.96 * row.errorDb).toFixed(2)}`;
    return (
      `<text x="${NAMES - 8}" y="${middle + 4}" text-anchor="end">${escaped(name)}</text>` +
      `<line class="line" x1="${from}" x2="${to}" y1="${middle}" y2="${middle}"/>` +
      `<rect class="after" x="${(x(row.levelDb) - 3).toFixed(1)}" y="${middle - 3}" width="6" height="6"/>` +
      `<text x="${(Number(to) + 8).toFixed(1)}" y="${middle + 4}">${text}</text>`
    );
  });
  const svg = `<svg viewBox="0 0 ${WIDTH + 48} ${rows.length * ROW + 4}" role="img" aria-label="${escaped(title)}">${drawn.join('')}</svg>`;
  return figure(title, svg, []);
};
