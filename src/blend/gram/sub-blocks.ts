import { Kernels } from '../../measure/kernels/kernels.ts';

/** Most sub-blocks whose energies are computed in one call. */
const TOGETHER = 16;

/**
 * Products of every pair of paths in every 10 ms sub-block: sub-block by sub-block, all pairs of each. They stand in the
 * memory of kernels of their own where there are any, so that energies of blends are summed with SIMD.
 */
export class SubBlockProducts {
  readonly values: Float64Array;
  private readonly weights: Float64Array;
  private readonly sums: Float64Array;
  private readonly kernels: Kernels | null;

  constructor(
    private readonly count: number,
    private readonly pairs: number,
  ) {
    // One row more than needed, as two rows are summed at once.
    const room = (count + 1) * pairs;
    this.kernels = Kernels.withRoom(8 * (room + pairs + TOGETHER) + 1024);
    this.values = Kernels.doubles(this.kernels, room);
    this.weights = Kernels.doubles(this.kernels, pairs);
    this.sums = Kernels.doubles(this.kernels, TOGETHER);
  }

  copy(): SubBlockProducts {
    const copy = new SubBlockProducts(this.count, this.pairs);
    copy.values.set(this.values);
    return copy;
  }

  /** Writes the energies of the blend with these pair weights in `count` (16 at most) sub-blocks from `from` on to `into`. */
  energies(weights: Float64Array, from: number, count: number, into: Float64Array): void {
    const { kernels, values, pairs, sums } = this;
    if (kernels) {
      const own = this.weights;
      own.set(weights);
      const rows = count + (count % 2);
      kernels.run.rowSums(values.byteOffset + 8 * from * pairs, rows, pairs, own.byteOffset, sums.byteOffset);
    } else for (let n = 0; n < count; n++) sums[n] = rowSum(values, (from + n) * pairs, weights);
    for (let n = 0; n < count; n++) into[from + n] = Math.max(0, sums[n]!);
  }
}

/** Weighted sum of a row of pairs, four sums in turn. Twin of rowSums of kernels.as. */
export const rowSum = (values: Float64Array, row: number, weights: Float64Array): number => {
  let [a, b, c, d] = [0, 0, 0, 0];
  let n = 0;
  for (; n + 3 < weights.length; n += 4) {
    a += weights[n]! * values[row + n]!;
    b += weights[n + 1]! * values[row + n + 1]!;
    c += weights[n + 2]! * values[row + n + 2]!;
    d += weights[n + 3]! * values[row + n + 3]!;
  }
  for (; n < weights.length; n++) a += weights[n]! * values[row + n]!;
  return a + b + (c + d);
};
