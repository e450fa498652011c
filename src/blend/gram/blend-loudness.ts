import {
  gateOf,
  gatingPowers,
  integratedFromBlocks,
  loudnessRangeFromShortTerm,
  lufsOf,
  MOMENTARY,
  SHORT_TERM,
  shortTermFromBlocks,
} from '../../measure/loudness/loudness.ts';
import { subBlockStart } from '../../measure/loudness/weighted-energy.ts';
import { SUB_BLOCKS, type Gram } from './gram.ts';
import { pairCount } from './pairs.ts';

/** 100 ms blocks in a gating block. */
const GATING = MOMENTARY / SUB_BLOCKS;

/**
 * The loudness of blends of the paths of a Gram. The arrays that it works in are its own and used again, so one blend is
 * looked at after the other: `take` a blend, then ask.
 */
export class BlendLoudness {
  /** Energies of the blend in each 100 ms block, and in the 10 ms sub-blocks of the blocks whose `known` is set. */
  private readonly energies: Float64Array;
  private readonly fine: Float64Array;
  private readonly known: Int32Array;
  private turn = 0;
  private weights: Float64Array;
  /** Pairs whose weight is not 0. */
  private readonly active: Int32Array;
  private activeCount = 0;
  /** Frames of each block, and how many blocks are whole. */
  private readonly lengths: Float64Array;
  private readonly whole: number;

  constructor(private readonly gram: Gram) {
    const { blocks, subBlocks, sampleRate, count } = gram;
    this.energies = new Float64Array(blocks);
    this.fine = new Float64Array(subBlocks);
    this.known = new Int32Array(blocks);
    this.active = new Int32Array(pairCount(count));
    this.weights = new Float64Array(pairCount(count));
    this.whole = Math.floor(subBlocks / SUB_BLOCKS);
    this.lengths = Float64Array.from(
      { length: this.whole },
      (_, n) => subBlockStart((n + 1) * SUB_BLOCKS, sampleRate) - subBlockStart(n * SUB_BLOCKS, sampleRate),
    );
  }

  /** Makes the blend with these pair weights the one that the other methods measure. */
  take(weights: Float64Array): this {
    const { energies, active, gram } = this;
    const { coarse, blocks } = gram;
    this.weights = weights;
    this.turn++;
    this.activeCount = 0;
    for (let pair = 0; pair < weights.length; pair++) if (weights[pair] !== 0) active[this.activeCount++] = pair;
    energies.fill(0);
    let n = 0;
    for (; n + 3 < this.activeCount; n += 4) addFour(coarse, blocks, active, n, weights, energies);
    for (; n < this.activeCount; n++) addOne(coarse, active[n]! * blocks, weights[active[n]!]!, energies);
    for (let block = 0; block < blocks; block++) if (energies[block]! < 0) energies[block] = 0;
    return this;
  }

  /** LUFS; null when nothing passes the gates. */
  integrated(): number | null {
    return integratedFromBlocks(this.powers());
  }

  /** LU. */
  range(): number | null {
    return loudnessRangeFromShortTerm(shortTermFromBlocks(this.powers()));
  }

  /** Highest momentary and short-term loudness, LUFS, looked for every 10 ms. */
  maxMomentary(): number | null {
    return this.highest(MOMENTARY);
  }

  maxShortTerm(): number | null {
    return this.highest(SHORT_TERM);
  }

  /** For each 100 ms block, the number of gating blocks above the gate that contain it. */
  timesCounted(): Float64Array {
    const gating = gatingPowers(this.powers());
    const gate = gateOf(gating);
    const counted = new Float64Array(this.gram.blocks);
    gating.forEach((power, step) => {
      if (power > gate) for (let n = 0; n < GATING; n++) counted[step + n]! += 1;
    });
    return counted;
  }

  /** Powers of the whole blocks. */
  private powers(): Float64Array {
    const powers = new Float64Array(this.whole);
    for (let block = 0; block < powers.length; block++) powers[block] = this.energies[block]! / this.lengths[block]!;
    return powers;
  }

  /** Computes the energies of the sub-blocks of a block, unless they are known. */
  private look(block: number): void {
    const { known, fine, turn, weights, gram } = this;
    if (known[block] === turn || block >= known.length) return;
    known[block] = turn;
    const from = block * SUB_BLOCKS;
    gram.fine.energies(weights, from, Math.min(SUB_BLOCKS, gram.subBlocks - from), fine);
  }

  /**
   * Greatest power in any `length` sub-blocks. The windows that begin within a block hold at most what it, the blocks
   * after and the one that they reach into hold together: only where that is more than the best so far are they
   * looked at one by one.
   */
  private highest(length: number): number | null {
    const { energies, gram } = this;
    const { subBlocks, sampleRate, blocks } = gram;
    const span = length / SUB_BLOCKS;
    const last = subBlocks - length;
    if (last < 0) return null;
    const bounds = new Float64Array(Math.floor(last / SUB_BLOCKS) + 1);
    let best = 0;
    let likeliest = 0;
    const shortest = Math.floor((length * sampleRate) / 100);
    for (let block = 0; block < bounds.length; block++) {
      let energy = 0;
      for (let n = block; n < block + span; n++) energy += energies[n]!;
      const from = block * SUB_BLOCKS;
      best = Math.max(best, energy / (subBlockStart(from + length, sampleRate) - subBlockStart(from, sampleRate)));
      const next = block + span < blocks ? energies[block + span]! : 0;
      bounds[block] = ((energy + next) * (1 + SLACK)) / shortest;
      if (bounds[block]! > bounds[likeliest]!) likeliest = block;
    }
    best = this.within(likeliest, span, best);
    for (let block = 0; block < bounds.length; block++)
      if (bounds[block]! > best) best = this.within(block, span, best);
    return best > 0 ? lufsOf(best) : null;
  }

  /** Greatest power of the windows of `span` blocks that begin within `block`, or `best` if that is greater. */
  private within(block: number, span: number, best: number): number {
    const { energies, fine, gram } = this;
    const { sampleRate, subBlocks } = gram;
    const from = block * SUB_BLOCKS;
    const length = span * SUB_BLOCKS;
    let inner = 0;
    for (let n = block + 1; n < block + span; n++) inner += energies[n]!;
    this.look(block);
    this.look(block + span);
    let tail = 0;
    for (let k = 0; k < SUB_BLOCKS; k++) tail += fine[from + k]!;
    let head = 0;
    for (let k = 0; k < SUB_BLOCKS && from + k + length <= subBlocks; k++) {
      const frames = subBlockStart(from + k + length, sampleRate) - subBlockStart(from + k, sampleRate);
      best = Math.max(best, (tail + inner + head) / frames);
      tail -= fine[from + k]!;
      if (from + k + length < subBlocks) head += fine[from + k + length]!;
    }
    return best;
  }
}

/** Room for rounding in a bound. */
const SLACK = 1e-9;

const addOne = (values: Float64Array, at: number, weight: number, sums: Float64Array): void => {
  for (let block = 0; block < sums.length; block++) sums[block]! += weight * values[at + block]!;
};

/** Four pairs in one pass over the sums. */
const addFour = (
  values: Float64Array,
  blocks: number,
  active: Int32Array,
  n: number,
  weights: Float64Array,
  sums: Float64Array,
): void => {
  const [a, b, c, d] = [active[n]!, active[n + 1]!, active[n + 2]!, active[n + 3]!];
  const [wa, wb, wc, wd] = [weights[a]!, weights[b]!, weights[c]!, weights[d]!];
  const [atA, atB, atC, atD] = [a * blocks, b * blocks, c * blocks, d * blocks];
  for (let block = 0; block < blocks; block++) {
    sums[block]! +=
      wa * values[atA + block]! + wb * values[atB + block]! + (wc * values[atC + block]! + wd * values[atD + block]!);
  }
};
