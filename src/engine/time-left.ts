/** Below this part done, or before so many seconds have passed, nothing can be said. */
const [LEAST_PART, LEAST_SECONDS] = [0.05, 2];

/** How long work will still take where it goes on as before, in words ("about 40 s left"); null: it is too early to say. */
export const timeLeft = (part: number, elapsedSeconds: number): string | null => {
  if (part < LEAST_PART || elapsedSeconds < LEAST_SECONDS) return null;
  const seconds = (elapsedSeconds / part) * (1 - part);
  if (seconds >= 90) return `about ${Math.round(seconds / 60)} min left`;
  // In steps of 5 s, as it is no more exact than that.
  return `about ${Math.max(5, 5 * Math.round(seconds / 5))} s left`;
};
