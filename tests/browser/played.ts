import type { Audition } from '../../src/audition/audition.ts';

/** Waits until the audio clock has gone on by `seconds`, however busy the machine is. */
export const played = async (bench: Audition, seconds: number): Promise<void> => {
  const { rawContext } = (bench as unknown as { context: { rawContext: { currentTime: number } } }).context;
  const until = rawContext.currentTime + seconds;
  while (rawContext.currentTime < until) await new Promise((resolve) => setTimeout(resolve, 10));
};
