import { scaleLinear, scaleLog } from 'd3-scale';
import { area, line } from 'd3-shape';
import type { Picture } from '../../dsp/core/processor.ts';
import { hertz, plain } from './axis-words.ts';

export type Point = readonly [number, number];

/** The size of a picture, and the margins around the curve for the axes, px. */
export interface Frame {
  readonly width: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

interface Tick {
  readonly at: number;
  readonly label: string;
}

/** The kind of a picture, and the ranges of its axes. */
export type Ranges = Pick<Picture, 'kind' | 'x' | 'y'>;

/** Values below this do not extend the range of a picture, dB: deep cuts may leave it. */
const CUT_DB = -11;

/** A frequency picture around 0 dB with the smallest of a few symmetric ranges that contains its curve, so that small moves are visible. */
export const fitted = <P extends Ranges>(picture: P, points: readonly Point[]): P => {
  if (picture.kind !== 'frequency' || picture.y[0] !== -picture.y[1]) return picture;
  const most = Math.max(0, ...points.map(([, db]) => Math.abs(db)).filter((_, i) => points[i]![1] > CUT_DB));
  const reach = [6, 12].find((range) => most < range - 0.5);
  return reach === undefined ? picture : { ...picture, y: [-reach, reach] };
};

/** Scales from a picture's values to pixels. */
export const scalesFor = ({ kind, x, y }: Ranges, frame: Frame) => {
  const across = [frame.left, frame.width - frame.right];
  return {
    x: kind === 'frequency' ? scaleLog(x, across).clamp(true) : scaleLinear(x, across).clamp(true),
    y: scaleLinear(y, [frame.height - frame.bottom, frame.top]).clamp(true),
  };
};

/** Outline of the curve: a line, or an area down to the floor; stems have none. */
export const curvePath = (picture: Ranges & Pick<Picture, 'drawn'>, points: readonly Point[], frame: Frame): string => {
  const { x, y } = scalesFor(picture, frame);
  const sound = points.filter(([across, up]) => !Number.isNaN(across) && !Number.isNaN(up));
  if (picture.drawn === 'stems' || sound.length === 0) return '';
  const draw =
    picture.drawn === 'area'
      ? area<Point>(
          (point) => x(point[0]),
          frame.height - frame.bottom,
          (point) => y(point[1]),
        )
      : line<Point>(
          (point) => x(point[0]),
          (point) => y(point[1]),
        );
  return draw([...sound]) ?? '';
};

/** Vertical lines from the bottom, one for each point. */
export const stems = (picture: Ranges, points: readonly Point[], frame: Frame) => {
  const { x, y } = scalesFor(picture, frame);
  return points.map(([across, up]) => ({ x: x(across), top: y(up), floor: frame.height - frame.bottom }));
};

/** Margins around a curve with axes, px. */
export const AXES_ROOM = { left: 40, right: 14, top: 20, bottom: 32 } as const;

/** The curve of a neutral processor: output level equal to input level, or no change. null: no such line. */
export const restLine = (picture: Ranges, frame: Frame): string | null => {
  const { x, y } = scalesFor(picture, frame);
  const [low, high] = picture.x;
  if (picture.kind === 'time') return null;
  if (picture.kind === 'frequency')
    return picture.y[0] < 0 && picture.y[1] > 0 ? `M${x(low)} ${y(0)}H${x(high)}` : null;
  const from = Math.max(low, picture.y[0]);
  const to = Math.min(high, picture.y[1]);
  return `M${x(from)} ${y(from)}L${x(to)} ${y(to)}`;
};

/** Least distance of grid lines, px. */
const LEAST_BEAT_PX = 6;

/** Vertical lines at every `step` from 0 on, in the picture's units. */
export const gridAcross = (picture: Ranges, step: number, frame: Frame): string => {
  const { x } = scalesFor(picture, frame);
  if (x(step) - x(0) < LEAST_BEAT_PX) return '';
  const count = Math.floor(picture.x[1] / step + 1e-6);
  return Array.from(
    { length: count },
    (_, n) => `M${x((n + 1) * step)} ${frame.top}V${frame.height - frame.bottom}`,
  ).join('');
};

/** Least distance of labels, px. */
const LABEL_PX = 34;

/** The ticks that fit, from the first on. */
const withRoom = (ticks: readonly Tick[]): Tick[] =>
  ticks.reduce<Tick[]>(
    (kept, tick) => (tick.at - (kept.at(-1)?.at ?? -Infinity) < LABEL_PX ? kept : [...kept, tick]),
    [],
  );

const FREQUENCIES = [20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000];

export const ticksAcross = (picture: Ranges, frame: Frame): Tick[] => {
  const { x } = scalesFor(picture, frame);
  const [low, high] = picture.x;
  if (picture.kind === 'frequency')
    return withRoom(FREQUENCIES.filter((hz) => hz >= low && hz <= high).map((hz) => ({ at: x(hz), label: hertz(hz) })));
  return scaleLinear(picture.x, [0, 1])
    .ticks(4)
    .map((value) => ({
      at: x(value),
      label: plain(value, Number.isInteger(value) ? 0 : value * 10 === Math.round(value * 10) ? 1 : 2),
    }));
};

export const ticksUp = (picture: Ranges, frame: Frame): Tick[] => {
  const { y } = scalesFor(picture, frame);
  return scaleLinear(picture.y, [0, 1])
    .ticks(4)
    .map((value) => ({ at: y(value), label: plain(value, Number.isInteger(value) ? 0 : 1) }));
};

const AXES: Readonly<Record<Picture['kind'], readonly [across: string, up: string]>> = {
  frequency: ['Hz', 'dB'],
  level: ['level in, dB', 'level out, dB'],
  transfer: ['sample in', 'sample out'],
  time: ['seconds', 'dB'],
};

/** Labels of the two axes of a picture. */
export const axisLabels = (kind: Picture['kind']): readonly [across: string, up: string] => AXES[kind];
