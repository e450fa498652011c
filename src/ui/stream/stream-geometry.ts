import { area, curveMonotoneX } from 'd3-shape';
import { levelAt, positionOf } from './decibel-scale.ts';

const POINTS = 24;

/** Half the width of a stream at a level, as a part of what it is at 0 dB: half as wide every 15 dB. */
export const halfWidthAt = (levelDb: number): number => Math.min(1.9, 10 ** (levelDb / 50));

/**
 * Outline of the stream from −∞ to `levelDb`, in a box of `width` x `height`: it widens with level.
 * At 0 dB it takes up half the height.
 */
export const streamPath = (width: number, height: number, levelDb: number): string => {
  const end = positionOf(levelDb);
  if (end === 0) return '';
  const half = (position: number): number => 0.4 + halfWidthAt(levelAt(Math.max(position, 0.05))) * (height / 4 - 0.4);
  const outline = area<number>()
    .x((position) => position * width)
    .y0((position) => height / 2 - half(position))
    .y1((position) => height / 2 + half(position))
    .curve(curveMonotoneX);
  return outline(Array.from({ length: POINTS + 1 }, (_, i) => (i / POINTS) * end)) ?? '';
};
