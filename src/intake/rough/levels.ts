import { median, quantile, weightedMedian } from './median.ts';
import { cellPowers, cellProducts, differenceOf, onSides, predictedSide } from './model.ts';
import type { Model, RoughProblem, Sides } from './model.ts';
import { factorAt, inverseFactored, solveFactored } from './normal-equations.ts';
import { blockOf, blockSeconds } from './sketch-plan.ts';
import { pullsOf } from './pulls.ts';
import { stretchesOf, type Seen, type Stretch } from './stretches.ts';
import { afterPauses, BUS_SECONDS, decibels, joined, withoutPassing } from './told-stretches.ts';
import { trackEquations, type TrackEquations } from './track-products.ts';
import { weightsFrom } from './weights.ts';
import { levelledCommon } from './through-all.ts';

/** Before a block is looked at, the level of a track in it may be off by half of it: the precision of that. */
const PRIOR = 4;
/** No level of a block is believed closer than 0.1 dB. */
const CLOSEST = 1 / 0.0115 ** 2;
/** A track's say in what all tracks have in common is no greater than that of a level known to 0.5 dB. */
const FULL_VOTE = 1 / 0.06 ** 2;
/** From this spread over time, dB, the gain that all tracks share is a bus at work. */
const MOVING_DB = 0.3;

/** What the blocks say of the level of every track, apart from its gain (blocks x tracks). */
interface Seens {
  readonly values: Float64Array;
  readonly precisions: Float64Array;
}

/** Weighted energy that these levels leave: where it is more than expected (an effect rings on), levels are less sure. */
const leftOf = ({ A, b, energy }: TrackEquations, x: Float64Array): number => {
  const n = x.length;
  let left = energy;
  for (let k = 0; k < n; k++) {
    left -= 2 * x[k]! * b[k]!;
    for (let l = 0; l < n; l++) left += x[k]! * x[l]! * A[k * n + l]!;
  }
  return left;
};

/** The level of each track in each block by least squares, held by the prior where the block says little. */
const seenIn = ({ plan, tracks }: RoughProblem, { levels }: Model, equations: readonly TrackEquations[]): Seens => {
  const values = new Float64Array(plan.blocks * tracks);
  const precisions = new Float64Array(plan.blocks * tracks);
  const places = Array.from({ length: tracks }, (_, k) => k);
  equations.forEach((each, block) => {
    const { A, b } = each;
    const held = A.slice();
    const x = b.slice();
    for (let k = 0; k < tracks; k++) {
      held[k * tracks + k]! += PRIOR;
      x[k]! += PRIOR * levels[block * tracks + k]!;
    }
    const L = factorAt(held, tracks, places);
    solveFactored(L, x);
    const inverse = inverseFactored(L, tracks);
    const excess = Math.max(1, leftOf(each, x) / each.expected);
    for (let k = 0; k < tracks; k++) {
      values[block * tracks + k] = x[k]!;
      precisions[block * tracks + k] = Math.max(0, 1 / inverse[k * tracks + k]! - PRIOR) / excess;
    }
  });
  return { values, precisions };
};

/**
 * The gain by which most tracks of each block are off together (weighted median, so a single track that was moved does not
 * count). One vote is for no gain at all; where no bus seems to be at work, that vote outweighs a single track.
 */
const sharedGains = ({ plan, tracks }: RoughProblem, model: Model, { values, precisions }: Seens): Float64Array => {
  const inBlock = new Float64Array(plan.blocks);
  const count = new Float64Array(plan.blocks);
  model.common.forEach((gain, frame) => {
    inBlock[blockOf(plan, frame)]! += Math.log(gain);
    count[blockOf(plan, frame)]!++;
  });
  const votesOf = (block: number): [number, number][] =>
    Array.from({ length: tracks }, (_, k): [number, number] => {
      const at = block * tracks + k;
      const ratio = values[at]! / model.levels[at]!;
      return [Math.log(Math.max(0.05, ratio)), ratio > 0 ? Math.min(FULL_VOTE, precisions[at]!) : 0];
    }).filter(([, weight]) => weight > FULL_VOTE / 50);
  const votes = Array.from({ length: plan.blocks }, (_, block) => votesOf(block));
  const told = votes.flatMap((each, block) =>
    each.length >= 3 ? [inBlock[block]! / count[block]! + weightedMedian(each)] : [],
  );
  const middle = median(told);
  const spread = 8.69 * median(told.map((each) => Math.abs(each - middle)));
  const still = spread > MOVING_DB ? 0.5 : 1.5;
  return Float64Array.from(votes, (each, block) =>
    each.length === 0
      ? 1
      : Math.exp(weightedMedian([...each, [middle - inBlock[block]! / count[block]!, still * FULL_VOTE]])),
  );
};

/** Values with what they are known by, as far as neighbours bear it out. */
const calibrated = (values: readonly number[], precisions: readonly number[]): Seen[] => {
  const steps: number[] = [];
  let last = -1;
  values.forEach((value, n) => {
    if (precisions[n]! < 1) return;
    if (last >= 0) steps.push(Math.abs(value - values[last]!) / Math.sqrt(1 / precisions[n]! + 1 / precisions[last]!));
    last = n;
  });
  // Of a normal distribution the median of the absolute value is 0.6745 of its deviation.
  const excess = Math.max(1, median(steps) / 0.6745);
  return values.map((value, n) => {
    const variance = excess ** 2 / Math.max(1e-9, precisions[n]!) + 1 / CLOSEST;
    return { value, precision: precisions[n]! > 0 ? 1 / variance : 0 };
  });
};

/** Blocks of a stretch, if the track is heard in it. */
const lengthHeard = ({ from, to, precision }: Stretch): number => (precision > 10 ? to - from : 0);

/** A model with levels over time, and the stretches of each track by which it has them. */
export interface Levelled {
  readonly model: Model;
  readonly stretches: readonly (readonly Stretch[])[];
}

/**
 * Finds where the level of single tracks moves: levels per block by least squares, what most tracks share goes to the
 * common gain, what is left of each track becomes stretches of constant level, and these are then fitted together. The
 * longest stretch of a track is at its gain.
 *
 * @param target both sides of the rough, corrected by the model
 * @param weights of cells (blocks x groups) by what is usually unexplained
 */
export const withLevels = (
  problem: RoughProblem,
  model: Model,
  target: Sides<Float32Array>,
  weights: Float64Array,
): Levelled => {
  const { plan, tracks } = problem;
  const products = onSides((side) => cellProducts(problem, target[side]));
  const powers = cellPowers(plan, target);
  const equationsBy = (by: Float64Array): TrackEquations[] =>
    Array.from({ length: plan.blocks }, (_, block) => trackEquations(problem, model, powers, products, by, block));
  const equations = equationsBy(weights);
  const seen = seenIn(problem, model, equations);
  const shared = sharedGains(problem, model, seen);
  const common = levelledCommon(model.common.map((gain, frame) => gain * shared[blockOf(plan, frame)]!));
  const scale = common[0]! / (model.common[0]! * shared[0]!);
  const movesDb = decibels(quantile(Array.from(common), 0.95) / quantile(Array.from(common), 0.05));
  const bus = movesDb > MOVING_DB ? { movesDb, blocks: BUS_SECONDS / blockSeconds(plan) } : { movesDb: 0, blocks: 0 };
  const signs = Array.from({ length: tracks }, (_, k) => Math.sign(model.levels[k]!));
  const stretches = signs.map((sign, k) => {
    const at = (block: number): number => block * tracks + k;
    const blocks = Array.from({ length: plan.blocks }, (_, block) => block);
    const values = blocks.map((block) => (sign * seen.values[at(block)]!) / shared[block]!);
    const precisions = blocks.map((block) => seen.precisions[at(block)]!);
    const heard = calibrated(values, precisions);
    return afterPauses(withoutPassing(joined(stretchesOf(heard), bus)), heard);
  });
  const robust = weightsUnder(problem, model, target, powers, shared, stretches, signs);
  const together = fittedTogether(problem, equationsBy(robust), shared, stretches, signs);
  const errorOf = stretchErrors(problem, model, target, robust, shared, together, signs);
  const fitted = together.map((own, k) => joined(own, bus, (stretch) => errorOf(k, stretch)));
  const gains = onSides(() => new Float64Array(problem.sources.all.length));
  const levels = new Float64Array(plan.blocks * tracks);
  const main = fitted.map(
    (own) => own.reduce((most, each) => (lengthHeard(each) > lengthHeard(most) ? each : most)).value,
  );
  problem.sources.all.forEach(({ track }, i) => {
    for (const side of [0, 1] as const) gains[side][i] = (model.gains[side][i]! * main[track]!) / scale;
  });
  const relative = fitted.map((own, k) => own.map((stretch) => ({ ...stretch, value: stretch.value / main[k]! })));
  relative.forEach((own, k) => {
    for (const { from, to, value } of own) {
      for (let block = from; block < to; block++) levels[block * tracks + k] = signs[k]! * value;
    }
  });
  return { model: { ...model, gains, levels, common }, stretches: relative };
};

/** A stretch of fewer blocks must be borne out by what is left without it: it would explain away what is another track's. */
const LONG = 4;

/**
 * Weights of cells by what these stretches leave unexplained in each, so that a block in which a level changes does not count. (By what
 * was left before levels moved, just the cells that show a move would not count either, and a plain rough would seem to have none.)
 */
const weightsUnder = (
  problem: RoughProblem,
  { gains }: Model,
  target: Sides<Float32Array>,
  powers: Float64Array,
  shared: Float64Array,
  stretches: readonly (readonly Stretch[])[],
  signs: readonly number[],
): Float64Array => {
  const { plan, tracks } = problem;
  const levels = new Float64Array(plan.blocks * tracks);
  stretches.forEach((own, k) => {
    const long = own.filter(({ from, to }) => to - from >= LONG);
    for (const { from, to, value } of own) {
      const near = long.findLast((each) => each.from <= from) ?? long[0];
      for (let block = from; block < to; block++)
        levels[block * tracks + k] = signs[k]! * (near?.value ?? value) * shared[block]!;
    }
  });
  const predicted = onSides((side) => predictedSide(problem, gains[side], levels));
  return weightsFrom(plan, powers, cellPowers(plan, differenceOf(target, predicted)));
};

/**
 * Standard errors of the levels of stretches, parts of them, by what is left under them: what one band pulls by has nothing to do with what
 * another does (the sandwich formula: White, Econometrica 48(4), 1980). An effect on another track rings on in few bands, at notes that
 * both play; a level that moved has moved in all.
 */
const stretchErrors = (
  problem: RoughProblem,
  model: Model,
  target: Sides<Float32Array>,
  weights: Float64Array,
  shared: Float64Array,
  stretches: readonly (readonly Stretch[])[],
  signs: readonly number[],
): ((track: number, stretch: Stretch) => number) => {
  const { plan, tracks, sources } = problem;
  if (stretches.every(({ length }) => length === 1)) return () => 0;
  const levels = new Float64Array(plan.blocks * tracks);
  stretches.forEach((own, k) => {
    for (const { from, to, value } of own)
      for (let block = from; block < to; block++) levels[block * tracks + k] = signs[k]! * value * shared[block]!;
  });
  const predicted = onSides((side) => predictedSide(problem, model.gains[side], levels));
  const moving = onSides((side) =>
    model.gains[side].map((gain, i) => (stretches[sources.all[i]!.track]!.length > 1 ? gain : 0)),
  );
  const fit = { model: { ...model, levels }, residual: differenceOf(target, predicted), weights };
  const { byBand, energy } = pullsOf(problem, fit, moving);
  const bands = plan.bands.length;
  return (track, { from, to }) => {
    const pulls = new Float64Array(bands);
    let whole = 0;
    for (let row = track * plan.blocks + from; row < track * plan.blocks + to; row++) {
      whole += energy[row]!;
      for (let b = 0; b < bands; b++) pulls[b]! += byBand[row * bands + b]!;
    }
    return whole > 0 ? Math.sqrt(pulls.reduce((sum, pull) => sum + pull * pull, 0)) / whole : 0;
  };
};

/** The value of every stretch of every track by least squares over all; none below a thousandth. */
const fittedTogether = (
  { tracks }: RoughProblem,
  equations: readonly TrackEquations[],
  shared: Float64Array,
  stretches: readonly (readonly Stretch[])[],
  signs: readonly number[],
): Stretch[][] => {
  const starts: number[] = [];
  let count = 0;
  for (const own of stretches) {
    starts.push(count);
    count += own.length;
  }
  const A = new Float64Array(count * count);
  const b = new Float64Array(count);
  stretches.forEach((own, k) =>
    own.forEach(({ value }, s) => {
      // A little of what is known already, for tracks and stretches that say nothing.
      A[(starts[k]! + s) * (count + 1)] = PRIOR;
      b[starts[k]! + s] = PRIOR * value;
    }),
  );
  const current = stretches.map(() => 0);
  equations.forEach((each, block) => {
    const gain = shared[block]!;
    stretches.forEach((own, k) => {
      while (own[current[k]!]!.to <= block) current[k]!++;
    });
    const place = current.map((s, k) => starts[k]! + s);
    for (let k = 0; k < tracks; k++) {
      b[place[k]!]! += gain * signs[k]! * each.b[k]!;
      for (let l = 0; l < tracks; l++) {
        A[place[k]! * count + place[l]!]! += gain * gain * signs[k]! * signs[l]! * each.A[k * tracks + l]!;
      }
    }
  });
  const L = factorAt(
    A,
    count,
    Array.from({ length: count }, (_, n) => n),
  );
  solveFactored(L, b);
  return stretches.map((own, k) =>
    own.map((stretch, s) => ({ ...stretch, value: Math.max(1e-3, b[starts[k]! + s]!) })),
  );
};
