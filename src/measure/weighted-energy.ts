import { framesOf, type Audio } from '../dsp/audio.ts';
import { KWeighting } from './k-weighting.ts';

/** K-weighted energy of a sound in 10 ms sub-blocks: all loudness figures are sums over this one series. */
export interface WeightedEnergy {
  readonly sampleRate: number;
  /** How many sub-blocks are whole; a last one that the sound does not fill stands after them in the arrays. */
  readonly whole: number;
  /** For each channel and sub-block, the sum of squares of the K-weighted samples. */
  readonly channels: readonly Float64Array[];
  /** For two channels: for each sub-block, the sum of products of left and right, both K-weighted. Otherwise null. */
  readonly cross: Float64Array | null;
}

/**
 * First frame of 10 ms sub-block `index`. Where 10 ms is no whole number of samples (22.05 or 11.025 kHz) every
 * boundary is rounded on its own, so that errors do not add up.
 */
export const subBlockStart = (index: number, sampleRate: number): number => Math.round((index * sampleRate) / 100);

/**
 * Series of `audio` (channels x frames).
 * @throws RangeError when the sample rate is below LOWEST_RATE of k-weighting.ts.
 */
export function weightedEnergyOf(audio: Audio): WeightedEnergy {
  const { sampleRate, channels } = audio;
  const frames = framesOf(audio);
  let whole = Math.floor((frames * 100) / sampleRate);
  while (subBlockStart(whole + 1, sampleRate) <= frames) whole++;
  while (subBlockStart(whole, sampleRate) > frames) whole--;
  const count = subBlockStart(whole, sampleRate) < frames ? whole + 1 : whole;

  const filters = channels.map(() => new KWeighting(sampleRate));
  const weighted = channels.map(() => new Float64Array(Math.ceil(sampleRate / 100) + 1));
  const energies = channels.map(() => new Float64Array(count));
  const cross = channels.length === 2 ? new Float64Array(count) : null;
  for (let block = 0; block < count; block++) {
    const from = subBlockStart(block, sampleRate);
    const length = Math.min(frames, subBlockStart(block + 1, sampleRate)) - from;
    for (let c = 0; c < channels.length; c++) {
      filters[c]!.process(channels[c]!, from, length, weighted[c]!);
      energies[c]![block] = product(weighted[c]!, weighted[c]!, length);
    }
    if (cross) cross[block] = product(weighted[0]!, weighted[1]!, length);
  }
  return { sampleRate, whole, channels: energies, cross };
}

function product(a: Float64Array, b: Float64Array, length: number): number {
  let sum = 0;
  for (let n = 0; n < length; n++) sum += a[n]! * b[n]!;
  return sum;
}
