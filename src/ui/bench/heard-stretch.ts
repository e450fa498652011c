import type { Range } from '../../engine/engine.ts';

/** Stretches are drawn up to this length, seconds. */
const LONGEST = 60;
/** Where nothing is in loop, so much around the playing position is drawn, and it moves on by half of that, seconds. */
const AROUND = 20;

/** A stretch of at most `length` seconds that holds `position`, in steps of half its length, within `within`. */
const windowIn = (within: Range, position: number, length: number): Range => {
  const { startSeconds, endSeconds } = within;
  if (endSeconds - startSeconds <= length) return within;
  const step = length / 2;
  const start = startSeconds + Math.floor((position - startSeconds) / step) * step - step / 2;
  const held = Math.max(startSeconds, Math.min(endSeconds - length, start));
  return { startSeconds: held, endSeconds: held + length };
};

/** The stretch that drawings of one processor show: the loop, or what lies around the playing position. */
export const drawnStretch = (loop: Range | null, position: number, songSeconds: number): Range => {
  const song = { startSeconds: 0, endSeconds: songSeconds };
  return loop ? windowIn(loop, position, LONGEST) : windowIn(song, position, AROUND);
};
