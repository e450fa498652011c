import { framesOf, type Audio } from '../dsp/audio.ts';

/** Frames whose extremes are kept together, and how many such blocks make one of the wide blocks looked at first. */
export const BLOCK = 32;
export const WIDE = 16;

/** Extremes of one channel of one path, block by block. */
export interface Extremes {
  /** Greatest and least sample of the block and of the first frame behind it, so that what lies between is covered. */
  readonly highest: Float32Array;
  readonly lowest: Float32Array;
  /** Greatest size of a second difference centred in the block (in the first and last also beyond the sound). */
  readonly bend: Float32Array;
}

/** What one path must tell so that peaks of any blend can be bounded. Left, right. */
export interface PeakBounds {
  readonly narrow: readonly [Extremes, Extremes];
  readonly wide: readonly [Extremes, Extremes];
  /** Sum of samples. */
  readonly sums: readonly [number, number];
}

const extremesFor = (blocks: number): Extremes => ({
  highest: new Float32Array(blocks),
  lowest: new Float32Array(blocks),
  bend: new Float32Array(blocks),
});

const narrowExtremes = (samples: Float32Array): Extremes => {
  const frames = samples.length;
  const blocks = Math.ceil(frames / BLOCK);
  const out = extremesFor(blocks);
  for (let block = 0; block < blocks; block++) {
    const from = block * BLOCK;
    // In the last block the differences around the silence behind count too.
    const to = block === blocks - 1 ? frames + 1 : from + BLOCK;
    let before = from > 0 ? samples[from - 1]! : 0;
    let here = samples[from]!;
    let highest = here;
    let lowest = here;
    let most = from === 0 ? here : 0;
    let least = most;
    for (let n = from; n < to; n++) {
      const after = n + 1 < frames ? samples[n + 1]! : 0;
      const difference = before - 2 * here + after;
      most = difference > most ? difference : most;
      least = difference < least ? difference : least;
      highest = after > highest ? after : highest;
      lowest = after < lowest ? after : lowest;
      before = here;
      here = after;
    }
    const bend = Math.max(most, -least);
    out.highest[block] = highest;
    out.lowest[block] = lowest;
    out.bend[block] = bend;
  }
  return out;
};

const widened = ({ highest, lowest, bend }: Extremes): Extremes => {
  const out = extremesFor(Math.ceil(highest.length / WIDE));
  for (let block = 0; block < highest.length; block++) {
    const wide = Math.floor(block / WIDE);
    const first = block % WIDE === 0;
    out.highest[wide] = first ? highest[block]! : Math.max(out.highest[wide]!, highest[block]!);
    out.lowest[wide] = first ? lowest[block]! : Math.min(out.lowest[wide]!, lowest[block]!);
    out.bend[wide] = Math.max(out.bend[wide]!, bend[block]!);
  }
  return out;
};

const sumOf = (channel: Float32Array): number => {
  let sum = 0;
  for (let n = 0; n < channel.length; n++) sum += channel[n]!;
  return sum;
};

/** Bounds of a stereo path: about a tenth of its own memory. */
export const peakBoundsOf = (path: Audio): PeakBounds => {
  const [left, right] = path.channels as [Float32Array, Float32Array];
  const narrow = [narrowExtremes(left), narrowExtremes(right)] as const;
  return {
    narrow,
    wide: [widened(narrow[0]), widened(narrow[1])],
    sums: framesOf(path) > 0 ? [sumOf(left), sumOf(right)] : [0, 0],
  };
};
