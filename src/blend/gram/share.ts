import { pairCount, pairIndex } from './pairs.ts';
import type { Gram } from './gram.ts';

/**
 * Share of each path in the loudness of the blend, as a part of 1: g_i sum_j g_j C_ij / (g' C g), over the K-weighted
 * energy that passes the gates of BS.1770-5. It is the path's Shapley value (Shapley 1953) in the game whose worth is
 * energy, so the shares add up to 1; a negative share means that the path cancels energy of the others. null: nothing
 * passes the gates. `counted`: number of gating blocks that contain each 100 ms block; `gains` are linear.
 */
export const sharesOf = (
  { count, blocks, coarse }: Gram,
  counted: Float64Array,
  gains: readonly number[],
): readonly (number | null)[] => {
  const products = new Float64Array(pairCount(count));
  for (let pair = 0; pair < products.length; pair++) {
    let sum = 0;
    for (let block = 0; block < blocks; block++) sum += counted[block]! * coarse[pair * blocks + block]!;
    products[pair] = sum;
  }
  const parts = gains.map((gain, i) =>
    gains.reduce((sum, other, j) => sum + gain * other * products[pairIndex(i, j, count)]!, 0),
  );
  const whole = parts.reduce((sum, part) => sum + part, 0);
  return parts.map((part) => (whole > 0 ? part / whole : null));
};
