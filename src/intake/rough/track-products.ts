import type { Model, RoughProblem, Sides } from './model.ts';
import { SIDES } from './model.ts';
import { groupCount, groupElements } from './sketch-plan.ts';

/** Normal equations of the levels of all tracks in one block, their gains in both sides kept as they are. */
export interface TrackEquations {
  /** tracks x tracks, row after row. */
  readonly A: Float64Array;
  readonly b: Float64Array;
  /** Weighted energy of the target, and how much of it is expected to stay unexplained. */
  readonly energy: number;
  readonly expected: number;
}

/**
 * @param powers of the target, mean per element in each cell, both sides together (`cellPowers`)
 * @param products of the sources with both sides of the target (`cellProducts`)
 * @param weights of cells (blocks x groups)
 */
export const trackEquations = (
  { plan, tracks, sources, products: pairs }: RoughProblem,
  { gains }: Pick<Model, 'gains'>,
  powers: Float64Array,
  products: Sides<Float64Array>,
  weights: Float64Array,
  block: number,
): TrackEquations => {
  const groups = groupCount(plan);
  const cells = plan.blocks * groups;
  const packed = pairs.ofBlock(block, weights);
  const A = new Float64Array(tracks * tracks);
  const b = new Float64Array(tracks);
  sources.all.forEach((one, i) => {
    for (const side of SIDES) {
      const gain = gains[side][i]!;
      if (gain === 0) continue;
      let sum = 0;
      for (let g = 0; g < groups; g++) {
        const cell = block * groups + g;
        sum += weights[cell]! * products[side][i * cells + cell]!;
      }
      b[one.track]! += gain * sum;
    }
    for (let j = 0; j < sources.all.length; j++) {
      const gain = gains[0][i]! * gains[0][j]! + gains[1][i]! * gains[1][j]!;
      if (gain === 0) continue;
      const pair = packed[i >= j ? (i * (i + 1)) / 2 + j : (j * (j + 1)) / 2 + i]!;
      A[one.track * tracks + sources.all[j]!.track]! += gain * pair;
    }
  });
  let [energy, expected] = [0, 0];
  for (let g = 0; g < groups; g++) {
    const [from, to] = groupElements(plan, g);
    const weight = weights[block * groups + g]!;
    const elements = (to - from) * plan.perBlock;
    energy += weight * powers[block * groups + g]! * elements;
    if (weight > 0) expected += elements;
  }
  return { A, b, energy, expected };
};
