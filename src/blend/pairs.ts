/**
 * Symmetric matrices over paths, kept as one number a pair (i, j) with i <= j, row by row.
 * A blend with gains g has the value of the quadratic form: the sum of weight(i, j) times the pair's number.
 */

/** Number of pairs of `count` paths, each path with itself included. */
export const pairCount = (count: number): number => (count * (count + 1)) / 2;

/** Place of the pair (i, j), in either order. */
export const pairIndex = (i: number, j: number, count: number): number => {
  const low = Math.min(i, j);
  const high = Math.max(i, j);
  return low * count - (low * (low - 1)) / 2 + high - low;
};

/** Weight of every pair for the gains: g_i squared on the diagonal, twice g_i g_j off it. */
export const pairWeights = (gains: readonly number[]): Float64Array => {
  const weights = new Float64Array(pairCount(gains.length));
  let at = 0;
  for (let i = 0; i < gains.length; i++) {
    for (let j = i; j < gains.length; j++) weights[at++] = gains[i]! * gains[j]! * (i === j ? 1 : 2);
  }
  return weights;
};

/** Value of the quadratic form at one place: `values` holds a number a pair. */
export const quadratic = (values: Float64Array, weights: Float64Array): number => {
  let sum = 0;
  for (let pair = 0; pair < weights.length; pair++) sum += weights[pair]! * values[pair]!;
  return sum;
};
