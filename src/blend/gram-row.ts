import { framesOf, type Audio } from '../dsp/audio.ts';
import { subBlockStart } from '../measure/weighted-energy.ts';
import { allSubBlocks, STATES, STRETCH, sumBlocks, type Gram } from './gram.ts';
import { MidSideWeighting, STATE } from './mid-side-weighting.ts';
import { pairCount, pairIndex } from './pairs.ts';

/**
 * One row of a Gram computed again, when one path has changed, without weighting the other paths.
 *
 * Within a sub-block the weighted other path is its plain samples through the filter from rest, plus what the filter's
 * state at the block's beginning (kept) rings on with. The inner product with the changed path's weighted samples w is
 * therefore that of the other's plain samples with v, w through the filter backwards in time (the adjoint of a causal
 * filter), plus that of the state with what w has in common with each ring.
 */

/** What an inner product with another path needs of the changed one, for one sub-block. */
interface Block {
  /** Half of the sum and of the difference of mid and side of v, so that it meets left and right as they are. */
  readonly sum: Float64Array;
  readonly difference: Float64Array;
  /** What w has in common with the ring of each number of state, of mid and of side. */
  readonly rings: Float64Array;
}

/** Products of one sub-block with one other path. */
interface Products {
  mid: number;
  side: number;
  left: number;
  right: number;
}

/** What the filter gives out of silence when one number of its state is 1, for each of them, `length` frames. */
const ringsOf = (sampleRate: number, length: number): Float64Array[] =>
  Array.from({ length: STATE }, (_, n) => {
    const filter = new MidSideWeighting(sampleRate);
    filter.state[n] = 1;
    const ring = new Float64Array(length);
    filter.filter(ring, new Float64Array(length), length);
    return ring;
  });

const common = (a: Float64Array, b: Float64Array, count: number): number => {
  let sum = 0;
  for (let n = 0; n < count; n++) sum += a[n]! * b[n]!;
  return sum;
};

/** Turns weighted `mid` and `side` of the changed path, `count` frames, into what a product needs; they are used up. */
const prepare = (
  mid: Float64Array,
  side: Float64Array,
  count: number,
  rings: readonly Float64Array[],
  backwards: MidSideWeighting,
  { sum, difference, rings: shared }: Block,
): void => {
  rings.forEach((ring, n) => {
    shared[n] = common(ring, mid, count);
    shared[STATE + n] = common(ring, side, count);
  });
  mid.subarray(0, count).reverse();
  side.subarray(0, count).reverse();
  backwards.state.fill(0);
  backwards.filter(mid, side, count);
  for (let n = 0; n < count; n++) {
    const m = mid[count - 1 - n]!;
    const s = side[count - 1 - n]!;
    sum[n] = (m + s) / 2;
    difference[n] = (m - s) / 2;
  }
};

/** Products of the changed path (`own`) with another, `count` frames from frame `from` on. */
const productsWith = (
  { sum, difference, rings }: Block,
  own: Audio,
  other: Audio,
  from: number,
  count: number,
  states: Float64Array,
  statesAt: number,
  out: Products,
): void => {
  const [ownLeft, ownRight] = own.channels as [Float32Array, Float32Array];
  const [otherLeft, otherRight] = other.channels as [Float32Array, Float32Array];
  let straight = 0;
  let crossed = 0;
  let left = 0;
  let right = 0;
  for (let n = 0; n < count; n++) {
    const l = otherLeft[from + n]!;
    const r = otherRight[from + n]!;
    const p = sum[n]!;
    const q = difference[n]!;
    straight += p * l + q * r;
    crossed += q * l + p * r;
    left += ownLeft[from + n]! * l;
    right += ownRight[from + n]! * r;
  }
  let mid = (straight + crossed) / 2;
  let side = (straight - crossed) / 2;
  for (let n = 0; n < STATE; n++) {
    mid += rings[n]! * states[statesAt + n]!;
    side += rings[STATE + n]! * states[statesAt + STATE + n]!;
  }
  out.mid = mid;
  out.side = side;
  out.left = left;
  out.right = right;
};

const copyOf = (gram: Gram, changed: number, states: Float64Array): Gram => ({
  ...gram,
  fine: gram.fine.slice(),
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
export function* gramRowSteps(paths: readonly Audio[], changed: number, before: Gram): Generator<number, Gram> {
  const { sampleRate, count } = before;
  const own = paths[changed]!;
  const frames = framesOf(own);
  const longest = Math.ceil(sampleRate / 100) + 1;
  const states = new Float64Array(STATES * allSubBlocks(frames, sampleRate));
  const gram = copyOf(before, changed, states);
  const scratch = (): Float64Array => new Float64Array(longest);
  const [mid, side] = [scratch(), scratch()];
  const block: Block = { sum: scratch(), difference: scratch(), rings: new Float64Array(STATES) };
  const rings = ringsOf(sampleRate, longest);
  const forwards = new MidSideWeighting(sampleRate);
  const backwards = new MidSideWeighting(sampleRate);
  const pairs = pairCount(count);
  const row = paths.map((_, other) => pairIndex(changed, other, count));
  const totals = [gram.weightedMid, gram.weightedSide, gram.left, gram.right];
  for (const pair of row) for (const total of totals) total[pair] = 0;
  const part: Products = { mid: 0, side: 0, left: 0, right: 0 };
  for (let index = 0, from = 0; from < frames; index++) {
    const to = Math.min(frames, subBlockStart(index + 1, sampleRate));
    states.set(forwards.state, index * STATES);
    forwards.process(own.channels[0]!, own.channels[1]!, from, to - from, mid, side);
    prepare(mid, side, to - from, rings, backwards, block);
    for (let other = 0; other < count; other++) {
      const pair = row[other]!;
      productsWith(block, own, paths[other]!, from, to - from, gram.states[other]!, index * STATES, part);
      gram.weightedMid[pair]! += part.mid;
      gram.weightedSide[pair]! += part.side;
      gram.left[pair]! += part.left;
      gram.right[pair]! += part.right;
      if (index < gram.subBlocks) gram.fine[index * pairs + pair] = 2 * (part.mid + part.side);
    }
    from = to;
    if (index % STRETCH === STRETCH - 1) yield from / frames;
  }
  sumBlocks(gram, Int32Array.from(row));
  return gram;
}
