import { framesOf, type Sound } from '../../audio/audio.ts';
import { subBlockStart } from '../../measure/loudness/weighted-energy.ts';
import { Kernels } from '../../measure/kernels/kernels.ts';
import { addProducts } from './dots.ts';
import { allSubBlocks, longestSubBlock, STATES, sumBlocks, type Gram } from './gram.ts';
import { MidSideWeighting, PARTS, STATE } from './mid-side-weighting.ts';
import { pairCount, pairIndex } from './pairs.ts';

/**
 * Computes one row of the Gram products anew when one path has changed, without K-weighting the other paths again.
 *
 * Within a sub-block the weighted other path is its plain samples through the filter from rest, plus what the filter's
 * state at the block's beginning (kept) adds as it decays. The inner product with the changed path's weighted samples w is
 * therefore that of the other's plain samples with v (w filtered backwards in time: the adjoint of a causal
 * filter), plus the state times the inner product of w with each impulse response of a state.
 */

/** Sub-blocks processed together. */
const TOGETHER = 8;

/** Working memory of one row. */
interface Work {
  readonly kernels: Kernels | null;
  readonly forwards: MidSideWeighting;
  readonly backwards: MidSideWeighting;
  readonly sound: readonly [Float32Array, Float32Array];
  /** Numbers from one vector to the next. */
  readonly apart: number;
  /** v of mid and of side, and left and right of the changed path. */
  readonly own: Float64Array;
  /** For each number of the filter's state: the output for silent input when that number is 1 and the others are 0. */
  readonly rings: Float64Array;
  /** Inner products of w with each of these responses, of mid and then of side, for every sub-block. */
  readonly shared: Float64Array;
  /** Products with one other path in one sub-block: of mid, side, left and right. */
  readonly sums: Float64Array;
}

const workFor = (sampleRate: number): Work => {
  const longest = longestSubBlock(sampleRate);
  const apart = TOGETHER * longest;
  const kernels = Kernels.withRoom(8 * (PARTS + 1) * apart + 8 * STATE * longest + 8 * STATES * TOGETHER + 4096);
  const rings = Kernels.doubles(kernels, STATE * longest);
  for (let n = 0; n < STATE; n++) rings.set(ringOf(sampleRate, n, longest), n * longest);
  return {
    kernels,
    forwards: new MidSideWeighting(sampleRate, kernels),
    backwards: new MidSideWeighting(sampleRate, kernels),
    sound: [Kernels.singles(kernels, apart), Kernels.singles(kernels, apart)],
    apart,
    own: Kernels.doubles(kernels, PARTS * apart),
    rings,
    shared: Kernels.doubles(kernels, STATES * TOGETHER),
    sums: Kernels.doubles(kernels, PARTS),
  };
};

const ringOf = (sampleRate: number, state: number, length: number): Float64Array => {
  const filter = new MidSideWeighting(sampleRate, null);
  filter.state[2 * state] = 1;
  const silence = new Float32Array(length);
  const out = new Float64Array(PARTS * length);
  filter.weigh(silence, silence, 0, length, out, 0, length);
  return out.subarray(0, length);
};

/** Copies frames `from` to `to` of a path into working memory. */
const take = ({ sound: [left, right] }: Work, { channels }: Sound, from: number, to: number): void => {
  left.set(channels[0]!.subarray(from, to));
  right.set(channels[1]!.subarray(from, to));
};

/** Computes v and the shared products of the changed path for its `nth` sub-block in working memory. */
const prepare = (work: Work, nth: number, at: number, count: number): void => {
  const { kernels, forwards, backwards, sound, apart, own, rings, shared } = work;
  forwards.weigh(sound[0], sound[1], at, count, own, at, apart);
  const longest = rings.length / STATE;
  for (let part = 0; part < 2; part++) {
    const [vector, into] = [at + part * apart, nth * STATES + part * STATE];
    shared.fill(0, into, into + STATE);
    if (kernels) {
      const [rowAt, ringsAt] = [own.byteOffset + 8 * vector, rings.byteOffset];
      kernels.run.addDoubles(rowAt, ringsAt, 8 * longest, 1, count, 1, shared.byteOffset + 8 * into);
    } else addProducts(own, vector, rings, 0, longest, 1, count, 1, shared, into);
  }
  backwards.weighBackwards(own, at, apart, count);
};

/**
 * Inner products of the changed path with the other one in working memory, over `count` frames from `at` on, into
 * `sums`.
 */
const crossProducts = ({ kernels, own, apart, sound: [left, right], sums }: Work, at: number, count: number): void => {
  if (kernels) {
    const [ownAt, leftAt, rightAt] = [own.byteOffset + 8 * at, left.byteOffset + 4 * at, right.byteOffset + 4 * at];
    kernels.run.crossProducts(ownAt, 8 * apart, leftAt, rightAt, count, sums.byteOffset);
  } else plainCrossProducts(own, apart, left, right, at, count, sums);
};

/**
 * Sums of products of four vectors, `apart`, with left + right, left - right, left and right: `count` from `at` on. Twin
 * of crossProducts of kernels.as.
 */
export const plainCrossProducts = (
  own: Float64Array,
  apart: number,
  left: Float32Array,
  right: Float32Array,
  at: number,
  count: number,
  sums: Float64Array,
): void => {
  const lanes = [0, 1].map((lane) => {
    let [mid, side, lefts, rights] = [0, 0, 0, 0];
    for (let n = at + lane; n < at + count; n += 2) {
      const l = left[n]!;
      const r = right[n]!;
      mid += own[n]! * (l + r);
      side += own[apart + n]! * (l - r);
      lefts += own[2 * apart + n]! * l;
      rights += own[3 * apart + n]! * r;
    }
    return [mid, side, lefts, rights];
  });
  for (let n = 0; n < PARTS; n++) sums[n] = lanes[0]![n]! + lanes[1]![n]!;
};

/** Inner product of w with what the other path's `states` (pairs, from `at` on) add to the sub-block as they decay. */
const ringing = (shared: Float64Array, nth: number, states: Float64Array, at: number, part: 0 | 1): number => {
  let sum = 0;
  for (let n = 0; n < STATE; n++) sum += shared[nth * STATES + part * STATE + n]! * states[at + 2 * n + part]!;
  return sum;
};

const copyOf = (gram: Gram, changed: number, states: Float64Array): Gram => ({
  ...gram,
  fine: gram.fine.copy(),
  coarse: gram.coarse.slice(),
  weightedMid: gram.weightedMid.slice(),
  weightedSide: gram.weightedSide.slice(),
  left: gram.left.slice(),
  right: gram.right.slice(),
  states: gram.states.with(changed, states),
});

/**
 * `before` with all pairs of path `changed` of `paths` (its sound new, the others' as they were) computed again, step by
 * step; each step yields the part done, 0..1. `before` stays as it is.
 */
export function* gramRowSteps(paths: readonly Sound[], changed: number, before: Gram): Generator<number, Gram> {
  const { sampleRate, count } = before;
  const own = paths[changed]!;
  const frames = framesOf(own);
  const blocks = allSubBlocks(frames, sampleRate);
  const states = new Float64Array(STATES * blocks);
  const gram = copyOf(before, changed, states);
  const work = workFor(sampleRate);
  const row = paths.map((_, other) => pairIndex(changed, other, count));
  for (const total of [gram.weightedMid, gram.weightedSide, gram.left, gram.right]) {
    for (const pair of row) total[pair] = 0;
  }
  for (let first = 0; first < blocks; first += TOGETHER) {
    const starts = Array.from({ length: Math.min(TOGETHER, blocks - first) + 1 }, (_, n) =>
      Math.min(frames, subBlockStart(first + n, sampleRate)),
    );
    take(work, own, starts[0]!, starts.at(-1)!);
    for (let nth = 0; nth + 1 < starts.length; nth++) {
      states.set(work.forwards.state, (first + nth) * STATES);
      prepare(work, nth, starts[nth]! - starts[0]!, starts[nth + 1]! - starts[nth]!);
    }
    paths.forEach((path, other) => {
      take(work, path, starts[0]!, starts.at(-1)!);
      addPair(work, gram, row[other]!, gram.states[other]!, first, starts);
    });
    if ((first / TOGETHER) % 25 === 24) yield starts[0]! / frames;
  }
  sumBlocks(gram, Int32Array.from(row));
  return gram;
}

/**
 * Adds the products with the path in working memory, whose filter states are `states`, over the sub-blocks from `first`
 * on.
 */
const addPair = (
  work: Work,
  gram: Gram,
  pair: number,
  states: Float64Array,
  first: number,
  starts: readonly number[],
): void => {
  const { sums, shared } = work;
  const pairs = pairCount(gram.count);
  for (let nth = 0; nth + 1 < starts.length; nth++) {
    const index = first + nth;
    crossProducts(work, starts[nth]! - starts[0]!, starts[nth + 1]! - starts[nth]!);
    const mid = sums[0]! / 2 + ringing(shared, nth, states, index * STATES, 0);
    const side = sums[1]! / 2 + ringing(shared, nth, states, index * STATES, 1);
    gram.weightedMid[pair]! += mid;
    gram.weightedSide[pair]! += side;
    gram.left[pair]! += sums[2]!;
    gram.right[pair]! += sums[3]!;
    if (index < gram.subBlocks) gram.fine.values[index * pairs + pair] = 2 * (mid + side);
  }
};
