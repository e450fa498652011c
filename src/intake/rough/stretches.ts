/** A value that was seen at one place, and how surely: one over its variance. */
export interface Seen {
  readonly value: number;
  readonly precision: number;
}

/** Places from `from` up to `to` at one value. */
export interface Stretch {
  readonly from: number;
  readonly to: number;
  readonly value: number;
  /** Sum of the precisions. */
  readonly precision: number;
}

/** A further stretch must explain this much more (log likelihood times 2): chance does so less than once in a thousand songs. */
const PRICE = 30;
/** Stretches are at least so many places long. */
const SHORTEST = 2;

/**
 * The best fit by constant stretches: least squares with a price for each stretch, solved exactly by dynamic programming
 * (Jackson et al., IEEE Signal Processing Letters 12(2), 2005: optimal partitioning; from memory).
 */
export const stretchesOf = (seen: readonly Seen[]): Stretch[] => {
  const n = seen.length;
  const [weight, sum, square] = [new Float64Array(n + 1), new Float64Array(n + 1), new Float64Array(n + 1)];
  seen.forEach(({ value, precision }, i) => {
    weight[i + 1] = weight[i]! + precision;
    sum[i + 1] = sum[i]! + precision * value;
    square[i + 1] = square[i]! + precision * value * value;
  });
  const costOf = (from: number, to: number): number => {
    const w = weight[to]! - weight[from]!;
    return w > 0 ? square[to]! - square[from]! - (sum[to]! - sum[from]!) ** 2 / w : 0;
  };
  const best = new Float64Array(n + 1).fill(Infinity);
  const before = new Int32Array(n + 1);
  best[0] = -PRICE;
  for (let to = 1; to <= n; to++) {
    for (let from = 0; from < to; from++) {
      if (to - from < SHORTEST && n >= SHORTEST) continue;
      const cost = best[from]! + PRICE + costOf(from, to);
      if (cost < best[to]!) [best[to], before[to]] = [cost, from];
    }
  }
  const out: Stretch[] = [];
  for (let to = n; to > 0; to = before[to]!) {
    const from = before[to]!;
    const precision = weight[to]! - weight[from]!;
    out.unshift({ from, to, precision, value: precision > 0 ? (sum[to]! - sum[from]!) / precision : 1 });
  }
  return out;
};
