import type { Audio } from '../../audio/audio.ts';
import type { Overview } from '../engine.ts';

/** Columns of an overview: more than a wide screen shows. */
const COLUMNS = 1600;

/** Lowest and highest sample over all channels of each column; covers the first `seconds` of the sound. */
export const overviewOf = ({ sampleRate, channels }: Audio, seconds: number): Overview => {
  const secondsPerColumn = seconds / COLUMNS;
  const min = new Float32Array(COLUMNS);
  const max = new Float32Array(COLUMNS);
  for (let column = 0; column < COLUMNS; column++) {
    const from = Math.floor(column * secondsPerColumn * sampleRate);
    const to = Math.floor((column + 1) * secondsPerColumn * sampleRate);
    for (const channel of channels) {
      for (let n = from; n < to && n < channel.length; n++) {
        const x = channel[n]!;
        if (x < min[column]!) min[column] = x;
        if (x > max[column]!) max[column] = x;
      }
    }
  }
  return { min, max, secondsPerColumn };
};
