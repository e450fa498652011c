import type { Range } from '../../engine/engine.ts';

// The part of the song that the strip shows, seconds.

/** The strip shows at least so many samples. */
const LEAST_SAMPLES = 48;

const within = ({ startSeconds, endSeconds }: Range, seconds: number): Range => {
  const span = Math.min(seconds, endSeconds - startSeconds);
  const start = Math.min(seconds - span, Math.max(0, startSeconds));
  return { startSeconds: start, endSeconds: start + span };
};

export const wholeSong = (seconds: number): Range => ({ startSeconds: 0, endSeconds: seconds });

/** The same part in a song of another length; null, which is all of it, where it is as long as the song. */
export const fittedRange = (range: Range | null, seconds: number): Range | null =>
  range === null || range.endSeconds - range.startSeconds >= seconds - 1e-9 ? null : within(range, seconds);

/** Shows `factor` times less of the song (more below 1); what is at `anchor`, seconds, stays where it is on the strip. */
export const zoomed = (range: Range, factor: number, anchor: number, seconds: number, sampleRate: number): Range => {
  const before = range.endSeconds - range.startSeconds;
  const span = Math.min(seconds, Math.max(LEAST_SAMPLES / sampleRate, before / factor));
  const startSeconds = anchor - ((anchor - range.startSeconds) / before) * span;
  return within({ startSeconds, endSeconds: startSeconds + span }, seconds);
};

/** Moved along by so many seconds, as far as the song goes. */
export const scrolled = ({ startSeconds, endSeconds }: Range, by: number, seconds: number): Range =>
  within({ startSeconds: startSeconds + by, endSeconds: endSeconds + by }, seconds);

/** Where the playhead re-enters a strip that follows it, from its left edge, part of its width. */
const COMES_IN = 0.1;

/** The range that holds the playhead: the same where it does already. */
export const following = (range: Range, playhead: number, seconds: number): Range => {
  if (playhead >= range.startSeconds && playhead < range.endSeconds) return range;
  const span = range.endSeconds - range.startSeconds;
  const startSeconds = playhead - COMES_IN * span;
  return within({ startSeconds, endSeconds: startSeconds + span }, seconds);
};
