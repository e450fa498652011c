import { blockPowers, gateOf, gatingPowers } from '../measure/loudness.ts';
import type { WeightedEnergy } from '../measure/weighted-energy.ts';
import type { Gram } from './gram.ts';
import { pairIndex } from './pairs.ts';

/** 10 ms sub-blocks in a 100 ms step, and 100 ms steps in a 400 ms gating block. */
const SUB_BLOCKS = 10;
const STEPS = 4;

/** In how many gating blocks above the gate each 10 ms sub-block stands. */
const timesCounted = (energy: WeightedEnergy): Float64Array => {
  const gating = gatingPowers(blockPowers(energy));
  const gate = gateOf(gating);
  const counted = new Float64Array(energy.whole);
  gating.forEach((power, step) => {
    if (power > gate) for (let n = 0; n < STEPS * SUB_BLOCKS; n++) counted[step * SUB_BLOCKS + n]! += 1;
  });
  return counted;
};

/**
 * Share of each path in the loudness of the blend, as a part of 1: g_i sum_j g_j C_ij / (g' C g), over the K-weighted
 * energy that passes the gates of BS.1770-5. It is the path's Shapley value in the game whose worth is energy, so the
 * shares add up to 1; a negative one means that the path takes energy away from the others. null: nothing passes.
 * `energy` is the blend's own series, `gains` are linear.
 */
export const sharesOf = (gram: Gram, energy: WeightedEnergy, gains: readonly number[]): readonly (number | null)[] => {
  const counted = timesCounted(energy);
  const products = gram.weightedSeries.map((series) =>
    series.reduce((sum, value, block) => sum + value * counted[block]!, 0),
  );
  const parts = gains.map((gain, i) =>
    gains.reduce((sum, other, j) => sum + gain * other * products[pairIndex(i, j, gram.count)]!, 0),
  );
  const whole = parts.reduce((sum, part) => sum + part, 0);
  return parts.map((part) => (whole > 0 ? part / whole : null));
};
