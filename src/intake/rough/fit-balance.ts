import { fitTogether } from './fit-together.ts';
import { withLevels, type Levelled } from './levels.ts';
import {
  cellPowers,
  cellProducts,
  correctedSide,
  differenceOf,
  emptyModel,
  factorsOf,
  onSides,
  predictedSide,
} from './model.ts';
import type { Model, RoughProblem, Sides } from './model.ts';
import { nonNegative } from './non-negative.ts';
import { factorAt, inverseFactored, solveFactored } from './normal-equations.ts';
import type { Explained } from './pulls.ts';
import { groupCount } from './sketch-plan.ts';
import { commonFor, responseFor } from './through-all.ts';
import { usualWeights, weightsFrom } from './weights.ts';

/** What the rough was found to be made of. */
export interface Fit extends Levelled, Explained {}

/** Rounds with levels that do not move, then with levels that do, that have always been enough. */
const [STILL, MOVING] = [5, 4];
/** After this round, and the last, levels and filter are found together: in turn they come near to each other slowly. */
const TOGETHER = 2;

/** Normal equations of the gains in both sides. */
const equationsOf = (problem: RoughProblem, model: Model, target: Sides<Float32Array>, weights: Float64Array) => {
  const { plan, products } = problem;
  const { n } = products;
  const groups = groupCount(plan);
  const cells = plan.blocks * groups;
  const factors = factorsOf(problem, model.levels);
  const b = onSides((side) => {
    const all = cellProducts(problem, target[side]);
    return Float64Array.from({ length: n }, (_, i) => {
      let sum = 0;
      for (let cell = 0; cell < cells; cell++) {
        sum += weights[cell]! * factors[Math.floor(cell / groups) * n + i]! * all[i * cells + cell]!;
      }
      return sum;
    });
  });
  return { A: products.sum(weights, factors), b };
};

/** A track that the rough holds with inverted polarity is so by this many times its own uncertainty. */
const SURELY = 12;

/** Turns the levels of tracks whose plain least squares gain is surely below 0. */
const turned = (problem: RoughProblem, levels: Float64Array, A: Float64Array, b: Sides<Float64Array>): Float64Array => {
  const { n } = problem.products;
  const places = Array.from({ length: n }, (_, i) => i).filter((i) => A[i * n + i]! > 0);
  const L = factorAt(A, n, places);
  const inverse = inverseFactored(L, places.length);
  const sums = new Float64Array(problem.tracks);
  for (const side of [0, 1] as const) {
    const x = Float64Array.from(places, (place) => b[side][place]!);
    solveFactored(L, x);
    places.forEach((place, k) => {
      if (problem.sources.mayFeed(place, side))
        sums[problem.sources.all[place]!.track]! += x[k]! / Math.sqrt(inverse[k * (places.length + 1)]!);
    });
  }
  return levels.map((level, at) => (sums[at % problem.tracks]! < -SURELY ? -level : level));
};

/**
 * Explains the rough by its tracks: gains by non-negative least squares in each side, the filter and the gain over time
 * that all went through, and levels of single tracks over time, each found in turn with the others held (alternating
 * least squares), under weights that leave out what the tracks cannot explain. Yields the part done, 0..1.
 */
export function* fitBalance(problem: RoughProblem, still = STILL, moving = MOVING): Generator<number, Fit> {
  const { plan, rough } = problem;
  const powers = cellPowers(plan, rough);
  let weights = weightsFrom(plan, powers, powers);
  let model = emptyModel(problem);
  let stretches: Fit['stretches'] = Array.from({ length: problem.tracks }, () => [
    { from: 0, to: plan.blocks, value: 1, precision: 0 },
  ]);
  let residual = rough;
  for (let round = 0; round < still + moving; round++) {
    yield round / (still + moving);
    let target = onSides((side) => correctedSide(problem, rough[side], model));
    if (round >= still && round < still + moving - 1) {
      ({ model, stretches } = withLevels(
        problem,
        model,
        target,
        usualWeights(plan, powers, cellPowers(plan, residual)),
      ));
      target = onSides((side) => correctedSide(problem, rough[side], model));
    }
    let { A, b } = equationsOf(problem, model, target, weights);
    if (round === 1) {
      model = { ...model, levels: turned(problem, model.levels, A, b) };
      ({ A, b } = equationsOf(problem, model, target, weights));
    }
    const gains = onSides((side) =>
      nonNegative(A, b[side], problem.products.n, (i) => problem.sources.mayFeed(i, side)),
    );
    const predicted = onSides((side) => predictedSide(problem, gains[side], model.levels));
    residual = differenceOf(target, predicted);
    weights = weightsFrom(plan, powers, cellPowers(plan, residual));
    const common = round > 0 ? commonFor(problem, predicted, model.response, weights) : model.common;
    model = { ...model, gains, common, response: responseFor(problem, predicted, common, weights) };
    if (round === TOGETHER || round === still + moving - 1) {
      model = fitTogether(problem, model, weights);
      const after = onSides((side) => predictedSide(problem, model.gains[side], model.levels));
      residual = differenceOf(
        onSides((side) => correctedSide(problem, rough[side], model)),
        after,
      );
      weights = weightsFrom(plan, powers, cellPowers(plan, residual));
    }
  }
  return { model, stretches, residual, weights };
}
