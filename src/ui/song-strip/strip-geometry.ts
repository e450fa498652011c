import { area } from 'd3-shape';
import type { Section } from '../../session/schema.ts';
import { TempoMap, type SongTempo } from '../../session/tempo-map.ts';
import type { Overview, Range } from '../../engine/engine.ts';
import { leastFrom, snapped, type Snap } from './snap.ts';

/** The shortest loop where nothing snaps, seconds. */
const LEAST_LOOP = 0.05;

/** A drag shorter than this is a click, px. */
export const CLICK_PX = 4;

/** Time under a place on a strip that shows this range, s; beyond the strip that of its edge. */
export const secondsAt = (x: number, width: number, { startSeconds, endSeconds }: Range): number =>
  width > 0 ? startSeconds + Math.min(1, Math.max(0, x / width)) * (endSeconds - startSeconds) : startSeconds;

/** Place of a time on a strip that shows this range, px; it may lie beyond the strip. */
export const xAt = (at: number, width: number, { startSeconds, endSeconds }: Range): number =>
  endSeconds > startSeconds ? ((at - startSeconds) / (endSeconds - startSeconds)) * width : 0;

/** The range between two times in either order, snapped, at least one beat or bar long (unless nothing snaps) and within the song. */
export const dragRange = (from: number, to: number, song: SongTempo, seconds: number, snap: Snap = 'beats'): Range => {
  const map = new TempoMap(song);
  const startSeconds = snapped(Math.min(from, to), map, snap);
  const least = snap === 'off' ? Math.min(seconds, startSeconds + LEAST_LOOP) : leastFrom(startSeconds, map, snap);
  return { startSeconds, endSeconds: Math.min(seconds, Math.max(snapped(Math.max(from, to), map, snap), least)) };
};

/** The range stretched so that it holds the other too. */
export const extended = (range: Range | null, other: Range): Range => ({
  startSeconds: Math.min(range?.startSeconds ?? Infinity, other.startSeconds),
  endSeconds: Math.max(range?.endSeconds ?? -Infinity, other.endSeconds),
});

const EDGE_SECONDS = 1e-6;
const isSame = (a: number, b: number): boolean => Math.abs(a - b) < EDGE_SECONDS;

export const isSection = (range: Range | null, section: Section): boolean =>
  range !== null && isSame(range.startSeconds, section.startSeconds) && isSame(range.endSeconds, section.endSeconds);

/** Whether the loop holds the whole section, as far as the song goes. */
export const holdsSection = (range: Range | null, section: Section, seconds: number): boolean =>
  range !== null &&
  range.startSeconds <= section.startSeconds + EDGE_SECONDS &&
  range.endSeconds >= Math.min(seconds, section.endSeconds) - EDGE_SECONDS;

/** What a new section is called until it is named: "Section 6", the first number from their count on that is free. */
export const newSectionName = (sections: readonly Section[]): string => {
  let number = sections.length + 1;
  while (sections.some(({ name }) => name === `Section ${number}`)) number++;
  return `Section ${number}`;
};

/** Longest name of a loop that the song strip has room for, characters. */
const LONGEST_NAME = 24;

/** What the loop is called: its section, its first and last section, or where those are too long its bars and beats. */
export const loopName = (range: Range, sections: readonly Section[], song: SongTempo): string => {
  const first = sections.find(({ startSeconds }) => isSame(startSeconds, range.startSeconds));
  const last = sections.find(({ endSeconds }) => isSame(endSeconds, range.endSeconds));
  if (first && last) {
    const name = first === last ? first.name : `${first.name} to ${last.name}`;
    if (name.length <= LONGEST_NAME) return name;
  }
  const map = new TempoMap(song);
  const shown = (seconds: number): string => {
    const { bar, beat } = map.beatAt(seconds);
    return `${bar}.${beat}`;
  };
  return `bars ${shown(range.startSeconds)} to ${shown(range.endSeconds)}`;
};

/** Outline of a sound over a range of the song, a column a pixel: the lowest and highest sample of each. */
export const envelopePath = (
  { min, max, secondsPerColumn, startSeconds: first = 0 }: Overview,
  width: number,
  height: number,
  { startSeconds, endSeconds }: Range,
): string => {
  const columns = Math.max(2, Math.round(width));
  const middle = height / 2;
  const reach = middle - 1;
  const placeOf = (column: number): number =>
    (startSeconds - first + (column / columns) * (endSeconds - startSeconds)) / secondsPerColumn;
  const bounds = Array.from({ length: columns }, (_, column) => {
    const from = Math.floor(placeOf(column) + 1e-6);
    return columnBounds(min, max, from, Math.max(from + 1, Math.floor(placeOf(column + 1) + 1e-6)));
  });
  const outline = area<readonly [number, number]>()
    .x((_, column) => Math.round((column / (columns - 1)) * width * 10) / 10)
    .y0(([low]) => Math.round((middle - Math.max(-1, low) * reach) * 10) / 10)
    .y1(([, high]) => Math.round((middle - Math.min(1, high) * reach) * 10) / 10);
  return outline(bounds) ?? '';
};

/** Where nothing is known there is silence. */
const columnBounds = (min: Float32Array, max: Float32Array, from: number, to: number): readonly [number, number] => {
  let [low, high] = [Infinity, -Infinity];
  for (let i = Math.max(0, from); i < Math.min(to, min.length); i++) {
    low = Math.min(low, min[i]!);
    high = Math.max(high, max[i]!);
  }
  return low > high ? [0, 0] : [low, high];
};

/** Whether an overview has a column for every pixel of a strip that shows this range. */
export const isFine = (
  { secondsPerColumn }: Pick<Overview, 'secondsPerColumn'>,
  width: number,
  { startSeconds, endSeconds }: Range,
): boolean => (endSeconds - startSeconds) / Math.max(1, width) >= 0.999 * secondsPerColumn;

/** Whether an overview covers this range. */
export const covers = (
  { min, secondsPerColumn, startSeconds: first = 0 }: Overview,
  { startSeconds, endSeconds }: Range,
): boolean =>
  first <= startSeconds + secondsPerColumn && first + min.length * secondsPerColumn >= endSeconds - secondsPerColumn;
