import { frameLength, groupCount, groupElements, type SketchPlan } from './sketch-plan.ts';
import type { Source } from './sources.ts';

/**
 * Inner products of all pairs of sources for each block and group of bands (real parts, as gains are real). Made once;
 * normal equations of any weights over blocks and groups are then sums of these.
 */
export class Products {
  /** Blocks x groups x pairs, (0,0) (1,0) (1,1) (2,0) ... */
  private readonly pairs: Float32Array;
  private readonly count: number;

  private constructor(
    private readonly plan: SketchPlan,
    /** Number of sources. */
    readonly n: number,
  ) {
    this.count = (n * (n + 1)) / 2;
    this.pairs = new Float32Array(plan.blocks * groupCount(plan) * this.count);
  }

  /** Yields the part done, 0..1. */
  static *of(plan: SketchPlan, sources: readonly Source[]): Generator<number, Products> {
    const products = new Products(plan, sources.length);
    for (let block = 0; block < plan.blocks; block++) {
      products.fill(sources, block);
      if (block % 16 === 0) yield block / plan.blocks;
    }
    return products;
  }

  private fill(sources: readonly Source[], block: number): void {
    const { plan, count, pairs } = this;
    const length = frameLength(plan);
    const first = block * plan.perBlock;
    const frames = Math.min(plan.perBlock, plan.frames - first);
    for (let g = 0; g < groupCount(plan); g++) {
      const [from, to] = groupElements(plan, g);
      const width = (to - from) * frames;
      const rows = sources.map(({ channel }) => {
        const row = new Float64Array(width);
        let heard = 0;
        for (let frame = 0, at = 0; frame < frames; frame++) {
          const base = (first + frame) * length;
          for (let e = base + from; e < base + to; e++) {
            const value = channel[e]!;
            row[at++] = value;
            heard += value * value;
          }
        }
        return heard > 0 ? row : null;
      });
      let at = (block * groupCount(plan) + g) * count;
      for (let i = 0; i < rows.length; i++) {
        const a = rows[i];
        for (let j = 0; j <= i; j++, at++) {
          const b = rows[j];
          if (a && b) pairs[at] = dot(a, b);
        }
      }
    }
  }

  /**
   * Sum of the products over blocks and groups, each times its weight (blocks x groups): n x n row after row.
   * @param factors what each source is multiplied by in each block (blocks x n)
   */
  sum(weights: Float64Array, factors: Float64Array): Float64Array {
    const { n, plan } = this;
    const out = new Float64Array(n * n);
    for (let block = 0; block < plan.blocks; block++) {
      const packed = this.ofBlock(block, weights);
      const first = block * n;
      for (let i = 0, p = 0; i < n; i++) {
        const factor = factors[first + i]!;
        for (let j = 0; j <= i; j++, p++) out[i * n + j]! += factor * factors[first + j]! * packed[p]!;
      }
    }
    for (let i = 0; i < n; i++) for (let j = 0; j < i; j++) out[j * n + i] = out[i * n + j]!;
    return out;
  }

  /** Weighted sum over the groups of one block, pairs (0,0) (1,0) (1,1) ... */
  ofBlock(block: number, weights: Float64Array): Float64Array {
    const { count, pairs, plan } = this;
    const packed = new Float64Array(count);
    const groups = groupCount(plan);
    for (let cell = block * groups; cell < (block + 1) * groups; cell++) {
      const weight = weights[cell]!;
      if (weight === 0) continue;
      for (let p = 0, at = cell * count; p < count; p++, at++) packed[p]! += weight * pairs[at]!;
    }
    return packed;
  }
}

const dot = (a: Float64Array, b: Float64Array): number => {
  let [s, t] = [0, 0];
  for (let n = 0; n + 1 < a.length; n += 2) {
    s += a[n]! * b[n]!;
    t += a[n + 1]! * b[n + 1]!;
  }
  return s + t;
};
