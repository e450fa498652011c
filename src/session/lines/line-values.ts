import { between } from '../../dsp/core/line.ts';
import type { LinePoint, LineValue } from './line-schema.ts';

/** The value of points in order, at least one, at a place in their own unit. */
export const valueAt = (points: readonly LinePoint[], at: number): LineValue => {
  const last = points.findLastIndex((point) => point.at <= at);
  const [before, after] = [points[Math.max(0, last)]!, points[last + 1]];
  if (last < 0 || !after || typeof before.value !== 'number' || typeof after.value !== 'number') return before.value;
  return between(before.curve, before.value, after.value, (at - before.at) / (after.at - before.at));
};

/**
 * Points with a stretch start..end of theirs replaced: by `inside` (places within it; they begin at `start`), after which the line is at
 * `end` where it was there before. `origin`: where the song begins.
 */
export const withStretch = (
  points: readonly LinePoint[],
  start: number,
  end: number,
  inside: readonly LinePoint[],
  origin: number,
): LinePoint[] => {
  const before = points.filter(({ at }) => at < start);
  const behind = points.filter(({ at }) => at > end);
  const under = points.findLast(({ at }) => at <= end) ?? points[0]!;
  const back: LinePoint = { at: end, value: valueAt(points, end), curve: behind.length > 0 ? under.curve : 'hold' };
  const last = before.at(-1);
  const held: LinePoint[] = last
    ? [...before.slice(0, -1), ...heldUntil(points, last, start)]
    : start > origin
      ? [{ at: origin, value: points[0]!.value, curve: 'hold' }]
      : [];
  const within = inside.map((point, n) => (n === inside.length - 1 ? { ...point, curve: 'hold' as const } : point));
  return [...held, ...within, back, ...behind];
};

/** Least distance of two points, in seconds or bars. */
export const LEAST_DISTANCE = 0.001;

/** The last point before a stretch, and, where its curve would otherwise lead into the stretch, one that ends that just before it. */
const heldUntil = (points: readonly LinePoint[], last: LinePoint, start: number): LinePoint[] => {
  const end = start - LEAST_DISTANCE;
  if (last.curve === 'hold' || last === points.at(-1) || end <= last.at) return [{ ...last, curve: 'hold' }];
  return [last, { at: end, value: valueAt(points, end), curve: 'hold' }];
};
