import type { Sound } from '../../audio/audio.ts';
import { STRETCH } from '../../audio/samples.ts';
import { finished } from '../../audio/steps.ts';
import type { Range } from '../../audio/range.ts';
import type { Overview } from '../engine.ts';

/** Columns of an overview: more than a wide screen shows. */
const COLUMNS = 1600;

/** Lowest and highest of samples. By index: an iterator takes ten times as long. */
const boundsWithin = (samples: Float32Array): readonly [number, number] => {
  let [low, high] = [Infinity, -Infinity];
  for (let n = 0; n < samples.length; n++) {
    const x = samples[n]!;
    if (x < low) low = x;
    if (x > high) high = x;
  }
  return [low, high];
};

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
        const [low, high] = boundsWithin(channel.subarray(from, to));
        min[column] = Math.min(min[column]!, low);
        max[column] = Math.max(max[column]!, high);
      }
    }
    yield;
  }
  return { min, max, secondsPerColumn };
}

/** Frames per pass. */
const PACE = 65_536;

/**
 * Lowest and highest sample over all channels in each of at most `columns` columns of a stretch; with fewer samples than that, one for
 * each. After the end of the sound there is silence.
 */
export function* waveformSteps(
  { sampleRate, channels }: Sound,
  range: Range,
  columns: number,
): Generator<number, Overview> {
  const first = Math.max(0, Math.floor(range.startSeconds * sampleRate));
  const frames = Math.max(1, Math.ceil(range.endSeconds * sampleRate) - first);
  const count = Math.max(1, Math.min(columns, frames));
  const min = new Float32Array(count);
  const max = new Float32Array(count);
  const startOf = (column: number): number => first + Math.floor((column * frames) / count);
  for (let column = 0, sinceYield = 0; column < count; column++) {
    const [low, high] = boundsOf(channels, startOf(column), startOf(column + 1));
    min[column] = low;
    max[column] = high;
    sinceYield += frames / count;
    if (sinceYield < PACE) continue;
    sinceYield = 0;
    yield column / count;
  }
  return { min, max, secondsPerColumn: frames / count / sampleRate, startSeconds: first / sampleRate };
}

const boundsOf = (channels: Sound['channels'], start: number, end: number): readonly [number, number] => {
  let [low, high] = [Infinity, -Infinity];
  for (let from = start; from < end; from += STRETCH) {
    for (const channel of channels) {
      const to = Math.min(end, from + STRETCH, channel.length);
      if (from >= to) continue;
      const bounds = boundsWithin(channel.subarray(from, to));
      low = Math.min(low, bounds[0]);
      high = Math.max(high, bounds[1]);
    }
  }
  return low > high ? [0, 0] : [low, high];
};
