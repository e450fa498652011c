import { framesOf, type Audio } from '../dsp/audio.ts';
import { KWeighting } from '../measure/k-weighting.ts';
import { subBlockStart } from '../measure/weighted-energy.ts';
import { pairCount } from './pairs.ts';

/** Inner products of every pair of paths over the whole sound, one number a pair (see pairs.ts). */
export interface WholeProducts {
  readonly leftLeft: Float64Array;
  readonly rightRight: Float64Array;
  /** Symmetric part of left by right: half the sum of both orders. */
  readonly leftRight: Float64Array;
}

/**
 * All that a blend's loudness and width depend on. With paths r_i and gains g_i any blend's energy is the quadratic
 * form of these products, exactly, so no blend need be rendered to be measured.
 */
export interface Gram {
  readonly count: number;
  readonly sampleRate: number;
  readonly frames: number;
  /** Whole 10 ms sub-blocks. */
  readonly blocks: number;
  /** K-weighted products, left by left plus right by right, for each pair a series of `blocks` sub-blocks. */
  readonly weightedSeries: readonly Float64Array[];
  readonly weighted: WholeProducts;
  readonly plain: WholeProducts;
  /** Sum of samples of each path, left and right. */
  readonly sums: { readonly left: Float64Array; readonly right: Float64Array };
}

const emptyProducts = (pairs: number): WholeProducts => ({
  leftLeft: new Float64Array(pairs),
  rightRight: new Float64Array(pairs),
  leftRight: new Float64Array(pairs),
});

/** Frames `0..length-1` of every path, left and right. */
interface Block {
  readonly left: readonly Float64Array[];
  readonly right: readonly Float64Array[];
}

/** Adds the block's products to the totals, and the sum of both channels' to `series` (when given) at `at`. */
const addProducts = (
  { left, right }: Block,
  length: number,
  totals: WholeProducts,
  series: readonly Float64Array[] | null,
  at: number,
): void => {
  let pair = 0;
  for (let i = 0; i < left.length; i++) {
    const leftI = left[i]!;
    const rightI = right[i]!;
    for (let j = i; j < left.length; j++, pair++) {
      const leftJ = left[j]!;
      const rightJ = right[j]!;
      let leftLeft = 0;
      let rightRight = 0;
      let crossed = 0;
      for (let n = 0; n < length; n++) {
        const li = leftI[n]!;
        const ri = rightI[n]!;
        const lj = leftJ[n]!;
        const rj = rightJ[n]!;
        leftLeft += li * lj;
        rightRight += ri * rj;
        crossed += li * rj + lj * ri;
      }
      totals.leftLeft[pair]! += leftLeft;
      totals.rightRight[pair]! += rightRight;
      totals.leftRight[pair]! += crossed / 2;
      if (series) series[pair]![at] = leftLeft + rightRight;
    }
  }
};

const sumOf = (channel: Float32Array): number => {
  let sum = 0;
  for (let n = 0; n < channel.length; n++) sum += channel[n]!;
  return sum;
};

/**
 * The Gram products of stereo paths, all of one rate and length (paths x 2 channels x frames).
 * @throws RangeError when a path is not stereo or lengths differ.
 */
export const gramOf = (paths: readonly Audio[]): Gram => {
  const frames = paths[0] ? framesOf(paths[0]) : 0;
  const sampleRate = paths[0]?.sampleRate ?? 48_000;
  if (paths.some((path) => path.channels.length !== 2 || framesOf(path) !== frames)) {
    throw new RangeError('paths must be stereo and equally long');
  }
  const pairs = pairCount(paths.length);
  let blocks = Math.floor((frames * 100) / sampleRate);
  while (subBlockStart(blocks, sampleRate) > frames) blocks--;
  const longest = Math.ceil(sampleRate / 100) + 1;
  const scratch = (): Float64Array[] => paths.map(() => new Float64Array(longest));
  const weightedBlock = { left: scratch(), right: scratch() };
  const plainBlock = { left: scratch(), right: scratch() };
  const filters = paths.map(() => [new KWeighting(sampleRate), new KWeighting(sampleRate)] as const);
  const weighted = emptyProducts(pairs);
  const plain = emptyProducts(pairs);
  const weightedSeries = Array.from({ length: pairs }, () => new Float64Array(blocks));

  for (let block = 0, from = 0; from < frames; block++) {
    const to = Math.min(frames, subBlockStart(block + 1, sampleRate));
    const length = to - from;
    paths.forEach(({ channels }, i) => {
      const [left, right] = channels as readonly [Float32Array, Float32Array];
      filters[i]![0].process(left, from, length, weightedBlock.left[i]!);
      filters[i]![1].process(right, from, length, weightedBlock.right[i]!);
      plainBlock.left[i]!.set(left.subarray(from, to));
      plainBlock.right[i]!.set(right.subarray(from, to));
    });
    addProducts(weightedBlock, length, weighted, block < blocks ? weightedSeries : null, block);
    addProducts(plainBlock, length, plain, null, block);
    from = to;
  }
  return {
    count: paths.length,
    sampleRate,
    frames,
    blocks,
    weightedSeries,
    weighted,
    plain,
    sums: {
      left: Float64Array.from(paths, ({ channels }) => sumOf(channels[0]!)),
      right: Float64Array.from(paths, ({ channels }) => sumOf(channels[1]!)),
    },
  };
};
