import { scaleLinear, scaleLog } from 'd3-scale';
import { area, line } from 'd3-shape';
import type { Picture } from '../../dsp/core/processor.ts';
import { hertz, plain } from './axis-words.ts';

export type Point = readonly [number, number];

/** A picture's own box: what stands around the curve is left for the axes. */
export interface Frame {
  readonly width: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

export interface Tick {
  readonly at: number;
  readonly label: string;
}

/** What a picture is of, and the numbers that it reaches over. */
export type Ranges = Pick<Picture, 'kind' | 'x' | 'y'>;

/** What a cut takes away may leave the picture; below this it does not count for its range, dB. */
const CUT_DB = -11;

/** A frequency picture around 0 dB with the smallest of a few even ranges that holds its curve, so that small moves show. */
export const fitted = <P extends Ranges>(picture: P, points: readonly Point[]): P => {
  if (picture.kind !== 'frequency' || picture.y[0] !== -picture.y[1]) return picture;
  const most = Math.max(0, ...points.map(([, db]) => Math.abs(db)).filter((_, i) => points[i]![1] > CUT_DB));
  const reach = [6, 12].find((range) => most < range - 0.5);
  return reach === undefined ? picture : { ...picture, y: [-reach, reach] };
};

/** From a picture's own numbers to places in the frame. */
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

/** Upright strokes from the floor, one a point. */
export const stems = (picture: Ranges, points: readonly Point[], frame: Frame) => {
  const { x, y } = scalesFor(picture, frame);
  return points.map(([across, up]) => ({ x: x(across), top: y(up), floor: frame.height - frame.bottom }));
};

/** Room around a curve with axes, px. */
export const AXES_ROOM = { left: 40, right: 14, top: 20, bottom: 32 } as const;

/** What the curve is when the processor does nothing: level in equals level out, or no change at all. null: no such line. */
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

/** Closer lines than this are left out, px. */
const LEAST_BEAT_PX = 6;

/** Upright lines at every `step` from 0 on, in the picture's numbers. */
export const gridAcross = (picture: Ranges, step: number, frame: Frame): string => {
  const { x } = scalesFor(picture, frame);
  if (x(step) - x(0) < LEAST_BEAT_PX) return '';
  const count = Math.floor(picture.x[1] / step + 1e-6);
  return Array.from(
    { length: count },
    (_, n) => `M${x((n + 1) * step)} ${frame.top}V${frame.height - frame.bottom}`,
  ).join('');
};

/** Labels closer than this would run into each other, px. */
const LABEL_PX = 34;

/** As many of the ticks as have room, from the first on. */
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

/** What the two axes of a picture carry. */
export const axisLabels = (kind: Picture['kind']): readonly [across: string, up: string] => AXES[kind];
