import type { Sound } from '../../audio/audio.ts';
import { STRETCH } from '../../audio/samples.ts';
import { finished } from '../../audio/steps.ts';
import type { Overview } from '../engine.ts';

/** Columns of an overview: more than a wide screen shows. */
const COLUMNS = 1600;

/** Lowest and highest sample over all channels of each column; covers the first `seconds` of the sound. */
export const overviewOf = (sound: Sound, seconds: number): Overview => finished(overviewSteps(sound, seconds));

/** The same step by step. */
export function* overviewSteps({ sampleRate, channels }: Sound, seconds: number): Generator<void, Overview> {
  const secondsPerColumn = seconds / COLUMNS;
  const min = new Float32Array(COLUMNS);
  const max = new Float32Array(COLUMNS);
  const startOf = (column: number): number => Math.floor(column * secondsPerColumn * sampleRate);
  for (let column = 0; column < COLUMNS; column++) {
    const end = startOf(column + 1);
    for (let from = startOf(column); from < end; from += STRETCH) {
      for (const channel of channels) {
        const to = Math.min(end, from + STRETCH, channel.length);
        if (from >= to) continue;
        for (const x of channel.subarray(from, to)) {
          if (x < min[column]!) min[column] = x;
          if (x > max[column]!) max[column] = x;
        }
      }
    }
    yield;
  }
  return { min, max, secondsPerColumn };
}
