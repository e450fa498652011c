/** Below this part done, or before so many seconds have passed, no estimate is given. */
const [LEAST_PART, LEAST_SECONDS] = [0.05, 2];

/** Estimated remaining time at the speed so far, in words ("about 40 s left"); null: too early for an estimate. */
export const timeLeft = (part: number, elapsedSeconds: number): string | null => {
  if (part < LEAST_PART || elapsedSeconds < LEAST_SECONDS) return null;
  const seconds = (elapsedSeconds / part) * (1 - part);
  if (seconds >= 90) return `about ${Math.round(seconds / 60)} min left`;
  // In steps of 5 s, as the estimate is not more exact.
  return `about ${Math.max(5, 5 * Math.round(seconds / 5))} s left`;
};
