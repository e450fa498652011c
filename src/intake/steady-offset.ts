import type { Samples } from '../audio/samples.ts';
import { quantile } from './rough/median.ts';

/** Means of stretches of so many seconds are looked at. */
const STRETCH_SECONDS = 0.2;

/** The mean of each stretch of a channel. */
const meansOf = (channel: Samples, length: number): number[] => {
  const means: number[] = [];
  for (let from = 0; from + length <= channel.length; from += length) {
    const part = channel.subarray(from, from + length);
    let sum = 0;
    for (let n = 0; n < length; n++) sum += part[n]!;
    means.push(sum / length);
  }
  return means;
};

/**
 * The constant part of a channel, linear; 0 where it has none that is there nearly everywhere: tails of drums and notes lean to one side
 * for a while, a fault is there all the time.
 */
export const steadyOffset = (channel: Samples, sampleRate: number): number => {
  const means = meansOf(channel, Math.round(STRETCH_SECONDS * sampleRate));
  if (means.length < 3) return 0;
  const [low, middle, high] = [0.1, 0.5, 0.9].map((part) => quantile(means, part)) as [number, number, number];
  const isSteady = Math.sign(low) === Math.sign(high) && Math.min(Math.abs(low), Math.abs(high)) > Math.abs(middle) / 3;
  return isSteady ? middle : 0;
};
