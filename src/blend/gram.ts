import { framesOf, type Audio } from '../dsp/audio.ts';
import { subBlockStart, wholeSubBlocks } from '../measure/weighted-energy.ts';
import { addProducts, matrixFor, padded } from './dots.ts';
import { MidSideWeighting, STATE } from './mid-side-weighting.ts';
import { pairCount, rowsOf, takePairs } from './pairs.ts';

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
  /** K-weighted products, both channels together: sub-block by sub-block, all pairs of each. */
  readonly fine: Float64Array;
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

/** Numbers of state that a path has for a sub-block. */
export const STATES = 2 * STATE;

/** Sub-blocks of a sound, the last that it does not fill counted too. */
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
    fine: numbers(subBlocks * pairs),
    coarse: numbers(blocks * pairs),
    weightedMid: numbers(pairs),
    weightedSide: numbers(pairs),
    left: numbers(pairs),
    right: numbers(pairs),
    states: Array.from({ length: count }, () => numbers(STATES * allSubBlocks(frames, sampleRate))),
  };
};

/** Sub-blocks worked through between two reports of progress. */
export const STRETCH = 200;

/** The products of stereo `paths` of one rate and length, step by step; each step yields the part done, 0..1. */
export function* gramSteps(paths: readonly Audio[]): Generator<number, Gram> {
  const count = paths.length;
  const { sampleRate } = paths[0]!;
  const frames = framesOf(paths[0]!);
  const rows = rowsOf(count, null);
  const gram = emptyGram(count, sampleRate, frames);
  const longest = Math.ceil(sampleRate / 100) + 1;
  const scratch = (): Float64Array[] => padded(paths.map(() => new Float64Array(longest)));
  const [mid, side] = [scratch(), scratch()];
  const filters = paths.map(() => new MidSideWeighting(sampleRate));
  const whole = { mid: matrixFor(rows), side: matrixFor(rows) };
  const part = { mid: matrixFor(rows), side: matrixFor(rows) };
  const pairs = pairCount(count);
  for (let index = 0, from = 0; from < frames; index++) {
    const to = Math.min(frames, subBlockStart(index + 1, sampleRate));
    for (let p = 0; p < count; p++) {
      const [left, right] = paths[p]!.channels as [Float32Array, Float32Array];
      gram.states[p]!.set(filters[p]!.state, index * STATES);
      filters[p]!.process(left, right, from, to - from, mid[p]!, side[p]!);
    }
    part.mid.fill(0);
    part.side.fill(0);
    addProducts(rows, mid, 0, to - from, 1, part.mid);
    addProducts(rows, side, 0, to - from, 1, part.side);
    for (const cell of rows.cells) {
      whole.mid[cell]! += part.mid[cell]!;
      whole.side[cell]! += part.side[cell]!;
    }
    if (index < gram.subBlocks) {
      // L L' + R R' is twice M M' + S S'.
      for (let n = 0; n < rows.cells.length; n++) {
        const cell = rows.cells[n]!;
        gram.fine[index * pairs + rows.pairs[n]!] = 2 * (part.mid[cell]! + part.side[cell]!);
      }
    }
    from = to;
    if (index % STRETCH === STRETCH - 1) yield (0.75 * from) / frames;
  }
  takePairs(rows, whole.mid, gram.weightedMid);
  takePairs(rows, whole.side, gram.weightedSide);
  sumBlocks(gram, rows.pairs);
  yield* plainSteps(paths, rows, gram);
  return gram;
}

/** Fills the blocks of `wanted` pairs from their sub-blocks. */
export const sumBlocks = ({ count, subBlocks, blocks, fine, coarse }: Gram, wanted: Int32Array): void => {
  const pairs = pairCount(count);
  for (const pair of wanted) coarse.fill(0, pair * blocks, (pair + 1) * blocks);
  for (let index = 0; index < subBlocks; index++) {
    const block = Math.floor(index / SUB_BLOCKS);
    for (let n = 0; n < wanted.length; n++) {
      const pair = wanted[n]!;
      coarse[pair * blocks + block]! += fine[index * pairs + pair]!;
    }
  }
};

/** Frames of all paths that stay close at hand. */
const PLAIN_FRAMES = 2048;

/** Plain products of left with left and right with right. */
function* plainSteps(paths: readonly Audio[], rows: ReturnType<typeof rowsOf>, gram: Gram): Generator<number> {
  const { frames } = gram;
  const left = padded(paths.map(({ channels }) => channels[0]!));
  const right = padded(paths.map(({ channels }) => channels[1]!));
  const sums = { left: matrixFor(rows), right: matrixFor(rows) };
  for (let from = 0, step = 1; from < frames; from += PLAIN_FRAMES, step++) {
    const to = Math.min(frames, from + PLAIN_FRAMES);
    addProducts(rows, left, from, to, 1, sums.left);
    addProducts(rows, right, from, to, 1, sums.right);
    if (step % STRETCH === 0) yield 0.75 + (0.25 * to) / frames;
  }
  takePairs(rows, sums.left, gram.left);
  takePairs(rows, sums.right, gram.right);
}
