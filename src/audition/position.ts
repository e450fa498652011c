/** A stretch of the song that is played again and again, seconds. */
export interface Loop {
  readonly startSeconds: number;
  readonly endSeconds: number;
}

/**
 * Where in the song a player is that started at `offset` and has run for `elapsed` seconds. A player that starts
 * before or inside the loop stays in it; one that starts after its end plays on.
 */
export const positionAfter = (offset: number, elapsed: number, loop: Loop | null): number => {
  const reached = offset + Math.max(0, elapsed);
  if (!loop || offset >= loop.endSeconds || reached < loop.endSeconds) return reached;
  return loop.startSeconds + ((reached - loop.startSeconds) % (loop.endSeconds - loop.startSeconds));
};

/** Where to start playing from `seconds`: the loop's start when that lies outside the loop. */
export const startingPoint = (seconds: number, length: number, loop: Loop | null): number => {
  if (loop) return seconds >= loop.startSeconds && seconds < loop.endSeconds ? seconds : loop.startSeconds;
  return seconds >= length ? 0 : Math.max(0, seconds);
};
