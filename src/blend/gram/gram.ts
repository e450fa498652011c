import { framesOf, type Sound } from '../../audio/audio.ts';
import { subBlockStart, wholeSubBlocks } from '../../measure/loudness/weighted-energy.ts';
import { Kernels } from '../../measure/kernels/kernels.ts';
import { productRoom, Products, type Rows } from './dots.ts';
import { MidSideWeighting, PARTS, STATE, WEIGHTING_ROOM } from './mid-side-weighting.ts';
import { isInPlace, pairCount, pairPlaces, pairsFrom, rowsOf, takePairs, type Places } from './pairs.ts';
import { SubBlockProducts } from './sub-blocks.ts';

/** 10 ms sub-blocks in the 100 ms blocks that gating and loudness range are read at. */
export const SUB_BLOCKS = 10;

/**
 * All that a blend's loudness and stereo balance depend on, in the time domain: inner products of every pair of paths
 * (pairs.ts). With paths r_i and gains g_i any blend's energy is the quadratic form of these products, exactly, so no
 * blend need be rendered to be measured.
 */
export interface Gram {
  readonly count: number;
  readonly sampleRate: number;
  readonly frames: number;
  /** Whole 10 ms sub-blocks. */
  readonly subBlocks: number;
  /** 100 ms blocks; the last may be shorter. */
  readonly blocks: number;
  /** K-weighted products, both channels together, per sub-block. */
  readonly fine: SubBlockProducts;
  /** The same per block: pair by pair, all blocks of each. */
  readonly coarse: Float64Array;
  /** K-weighted products of mid with mid and of side with side, over the whole. */
  readonly weightedMid: Float64Array;
  readonly weightedSide: Float64Array;
  /** Plain products of left with left and of right with right, over the whole. */
  readonly left: Float64Array;
  readonly right: Float64Array;
  /** For each path, the state of its K-weighting (mid-side-weighting.ts) where each sub-block begins. */
  readonly states: readonly Float64Array[];
}

/** Filter state values per path and sub-block. */
export const STATES = 2 * STATE;

/** Number of 10 ms sub-blocks of a sound, including a last one that is not full. */
export const allSubBlocks = (frames: number, sampleRate: number): number => {
  const whole = wholeSubBlocks(frames, sampleRate);
  return subBlockStart(whole, sampleRate) < frames ? whole + 1 : whole;
};

const emptyGram = (count: number, sampleRate: number, frames: number): Gram => {
  const subBlocks = wholeSubBlocks(frames, sampleRate);
  const blocks = Math.ceil(subBlocks / SUB_BLOCKS);
  const pairs = pairCount(count);
  const numbers = (length: number): Float64Array => new Float64Array(length);
  return {
    count,
    sampleRate,
    frames,
    subBlocks,
    blocks,
    fine: new SubBlockProducts(subBlocks, pairs),
    coarse: numbers(blocks * pairs),
    weightedMid: numbers(pairs),
    weightedSide: numbers(pairs),
    left: numbers(pairs),
    right: numbers(pairs),
    states: Array.from({ length: count }, () => numbers(STATES * allSubBlocks(frames, sampleRate))),
  };
};

/** The products with the paths in a new order, some removed or added; products of added paths are 0. */
export const arrangedGram = (gram: Gram, places: Places): Gram => {
  if (isInPlace(places, gram.count)) return gram;
  const { count, sampleRate, frames, subBlocks, blocks } = gram;
  const from = pairPlaces(places, count);
  const arranged = emptyGram(places.length, sampleRate, frames);
  const before = pairCount(count);
  from.forEach((place, pair) => {
    if (place < 0) return;
    arranged.coarse.set(gram.coarse.subarray(place * blocks, (place + 1) * blocks), pair * blocks);
    for (let index = 0; index < subBlocks; index++)
      arranged.fine.values[index * from.length + pair] = gram.fine.values[index * before + place]!;
  });
  return {
    ...arranged,
    weightedMid: pairsFrom(gram.weightedMid, from),
    weightedSide: pairsFrom(gram.weightedSide, from),
    left: pairsFrom(gram.left, from),
    right: pairsFrom(gram.right, from),
    states: places.map((place, n) => (place === null ? arranged.states[n]! : gram.states[place]!)),
  };
};

/** Sub-blocks between two reports of progress. */
export const STRETCH = 200;

/** The products of stereo `paths` of one rate and length, step by step; each step yields the part done, 0..1. */
export function* gramSteps(paths: readonly Sound[]): Generator<number, Gram> {
  const { sampleRate } = paths[0]!;
  const frames = framesOf(paths[0]!);
  const gram = emptyGram(paths.length, sampleRate, frames);
  const rows = rowsOf(paths.length, null);
  const work = workFor(paths, rows, sampleRate);
  for (let index = 0, from = 0; from < frames; index++) {
    const to = Math.min(frames, subBlockStart(index + 1, sampleRate));
    weighAll(paths, from, to - from, work, gram.states, index);
    addSubBlock(work, to - from);
    for (const cell of rows.cells) {
      work.weightedMid[cell]! += work.mid[cell]!;
      work.weightedSide[cell]! += work.side[cell]!;
    }
    if (index < gram.subBlocks) takeFine(gram, index, rows, work);
    from = to;
    if (index % STRETCH === STRETCH - 1) yield from / frames;
  }
  takePairs(rows, work.weightedMid, gram.weightedMid);
  takePairs(rows, work.weightedSide, gram.weightedSide);
  takePairs(rows, work.left, gram.left);
  takePairs(rows, work.right, gram.right);
  sumBlocks(gram, rows.pairs);
  return gram;
}

/** Working memory for the products of all paths, one sub-block at a time. */
interface Work {
  readonly filters: readonly MidSideWeighting[];
  readonly sound: readonly [Float32Array, Float32Array];
  /** For each path its PARTS, `longest` numbers each. */
  readonly products: Products;
  readonly longest: number;
  /** Weighted products of one sub-block. */
  readonly mid: Float64Array;
  readonly side: Float64Array;
  /** Products over the whole. */
  readonly weightedMid: Float64Array;
  readonly weightedSide: Float64Array;
  readonly left: Float64Array;
  readonly right: Float64Array;
}

/** Most frames that a sub-block can have. */
export const longestSubBlock = (sampleRate: number): number => Math.ceil(sampleRate / 100) + 1;

const workFor = (paths: readonly Sound[], rows: Rows, sampleRate: number): Work => {
  const longest = longestSubBlock(sampleRate);
  const bytes = productRoom(rows.count, 8 * PARTS * longest, 6) + rows.count * WEIGHTING_ROOM + 8 * longest + 128;
  const kernels = Kernels.withRoom(bytes);
  const products = new Products(rows, PARTS * longest, 'double', kernels);
  return {
    filters: paths.map(() => new MidSideWeighting(sampleRate, kernels)),
    sound: [Kernels.singles(kernels, longest), Kernels.singles(kernels, longest)],
    products,
    longest,
    mid: products.matrix(),
    side: products.matrix(),
    weightedMid: products.matrix(),
    weightedSide: products.matrix(),
    left: products.matrix(),
    right: products.matrix(),
  };
};

/** Weights `count` frames of all paths, and keeps the states in which the sub-block began. */
const weighAll = (
  paths: readonly Sound[],
  from: number,
  count: number,
  { filters, sound: [left, right], products, longest }: Work,
  states: readonly Float64Array[],
  index: number,
): void => {
  for (let p = 0; p < paths.length; p++) {
    const { channels } = paths[p]!;
    states[p]!.set(filters[p]!.state, index * STATES);
    left.set(channels[0]!.subarray(from, from + count));
    right.set(channels[1]!.subarray(from, from + count));
    filters[p]!.weigh(left, right, 0, count, products.vectors[p] as Float64Array, 0, longest);
  }
};

const addSubBlock = ({ products, longest, mid, side, left, right }: Work, count: number): void => {
  mid.fill(0);
  side.fill(0);
  products.add(0, count, 1, mid);
  products.add(longest, longest + count, 1, side);
  products.add(2 * longest, 2 * longest + count, 1, left);
  products.add(3 * longest, 3 * longest + count, 1, right);
};

/** L L' + R R' of the sub-block is twice M M' + S S'. */
const takeFine = ({ count, fine }: Gram, index: number, { cells, pairs }: Rows, { mid, side }: Work): void => {
  const at = index * pairCount(count);
  for (let n = 0; n < cells.length; n++) fine.values[at + pairs[n]!] = 2 * (mid[cells[n]!]! + side[cells[n]!]!);
};

/** Fills the blocks of `wanted` pairs from their sub-blocks. */
export const sumBlocks = ({ count, subBlocks, blocks, fine, coarse }: Gram, wanted: Int32Array): void => {
  const pairs = pairCount(count);
  for (const pair of wanted) coarse.fill(0, pair * blocks, (pair + 1) * blocks);
  for (let index = 0; index < subBlocks; index++) {
    const block = Math.floor(index / SUB_BLOCKS);
    for (let n = 0; n < wanted.length; n++) {
      const pair = wanted[n]!;
      coarse[pair * blocks + block]! += fine.values[index * pairs + pair]!;
    }
  }
};
