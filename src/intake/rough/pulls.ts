import { groupOfBands } from './band-products.ts';
import { cellPowers, SIDES, type Model, type RoughProblem, type Sides } from './model.ts';
import { blockOf, frameLength, groupCount } from './sketch-plan.ts';

/** A model, and what it leaves. */
export interface Explained {
  readonly model: Model;
  /** Both sides of the rough with what all went through taken off, less the tracks. */
  readonly residual: Sides<Float32Array>;
  /** Weights of cells (blocks x groups), about one over the power that is unexplained. */
  readonly weights: Float64Array;
}

/** By how much what is left would move each track, and by how much it may by chance. */
export interface Pulls {
  /** Inner products of each track's change with what is left, by the weights: tracks x blocks x bands. */
  readonly byBand: Float64Array;
  /** Energy of the change in each block, by the weights: tracks x blocks. */
  readonly energy: Float64Array;
  /** Variance of a block's pull if what is left had nothing to do with the track: tracks x blocks. */
  readonly chance: Float64Array;
}

/**
 * The pulls on one unknown of each track.
 * @param change what a step of the unknown adds to the gain of each source in both sides
 */
export const pullsOf = (problem: RoughProblem, fit: Explained, change: Sides<Float64Array>): Pulls => {
  const { plan, tracks, sources } = problem;
  const { model, residual, weights } = fit;
  const { bands, bandStart, blocks, frames } = plan;
  const groups = groupCount(plan);
  const groupOf = groupOfBands(plan);
  const length = frameLength(plan);
  const left = cellPowers(plan, residual);
  const byBand = new Float64Array(tracks * blocks * bands.length);
  const energy = new Float64Array(tracks * blocks);
  const chance = new Float64Array(tracks * blocks);
  sources.all.forEach(({ track, channel }, i) => {
    for (let frame = 0; frame < frames; frame++) {
      const block = blockOf(plan, frame);
      const level = model.levels[block * tracks + track]!;
      const row = track * blocks + block;
      for (let b = 0; b < bands.length; b++) {
        const cell = block * groups + groupOf[b]!;
        const weight = weights[cell]!;
        if (weight === 0) continue;
        let [shared, own] = [0, 0];
        const end = frame * length + 2 * bandStart[b + 1]!;
        for (const side of SIDES) {
          const step = change[side][i]! * level;
          if (step === 0) continue;
          for (let e = frame * length + 2 * bandStart[b]!; e < end; e++) {
            const value = step * channel[e]!;
            shared += value * residual[side][e]!;
            own += value * value;
          }
        }
        byBand[row * bands.length + b]! += weight * shared;
        energy[row]! += weight * own;
        // The power is of both sides together.
        chance[row]! += (weight * weight * own * left[cell]!) / 2;
      }
    }
  });
  return { byBand, energy, chance };
};
