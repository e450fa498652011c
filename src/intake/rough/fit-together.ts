import { bandProducts, type BandProducts } from './band-products.ts';
import { median } from './median.ts';
import { onSides, type Model, type RoughProblem } from './model.ts';
import { solveAt } from './normal-equations.ts';

/** Turns of the two steps that were always enough, and the change of a level, a part of it, below which no more are taken. */
const [TURNS, STILL] = [1000, 1e-6];
/** A level is not moved by more than this factor. */
const FURTHEST = 8;

/** Levels of the tracks that fit best under a filter. */
const levelsUnder = (
  { pairs, withRough }: BandProducts,
  sum: Float64Array,
  response: Float64Array,
  tracks: number,
  places: readonly number[],
): Float64Array => {
  const b = new Float64Array(tracks);
  pairs.forEach((_, band) => {
    const [re, im] = [response[2 * band]!, response[2 * band + 1]!];
    const size = re * re + im * im;
    for (let k = 0; k < tracks; k++)
      b[k]! += (withRough[band]![2 * k]! * re + withRough[band]![2 * k + 1]! * im) / size;
  });
  const out = new Float64Array(tracks).fill(1);
  solveAt(sum, b, tracks, places).forEach(
    (level, n) => (out[places[n]!] = Math.max(1 / FURTHEST, Math.min(FURTHEST, level))),
  );
  return out;
};

/** The filter that fits best at these levels; the bands without sound as they were. */
const filterAt = (
  { pairs, withRough }: BandProducts,
  levels: Float64Array,
  before: Float64Array,
  tracks: number,
): Float64Array => {
  const out = before.slice();
  pairs.forEach((pair, band) => {
    let [pp, re, im] = [0, 0, 0];
    for (let k = 0; k < tracks; k++) {
      re += levels[k]! * withRough[band]![2 * k]!;
      im += levels[k]! * withRough[band]![2 * k + 1]!;
      for (let l = 0; l < tracks; l++) pp += levels[k]! * levels[l]! * pair[k * tracks + l]!;
    }
    if (pp > 0 && re * re + im * im > 0) [out[2 * band], out[2 * band + 1]] = [re / pp, im / pp];
  });
  return out;
};

/**
 * Levels of the tracks and the filter that all went through, found together: in turn one under the other, on what was
 * summed once, until neither moves. A track that is alone in its bands can stand in for the filter there, so that few
 * turns end far from the best fit. The median band has gain 1.
 *
 * @param weights of cells (blocks x groups)
 */
export const fitTogether = (problem: RoughProblem, model: Model, weights: Float64Array): Model => {
  const { tracks, sources, plan } = problem;
  const products = bandProducts(problem, model, weights);
  const sum = new Float64Array(tracks * tracks);
  for (const pair of products.pairs) pair.forEach((value, at) => (sum[at]! += value));
  const places = Array.from({ length: tracks }, (_, k) => k).filter((k) => sum[k * (tracks + 1)]! > 0);
  let levels: Float64Array = new Float64Array(tracks).fill(1);
  let response: Float64Array = model.response;
  for (let turn = 0; turn < TURNS; turn++) {
    const next = levelsUnder(products, sum, response, tracks, places);
    response = filterAt(products, next, response, tracks);
    const moved = Math.max(0, ...places.map((k) => Math.abs(next[k]! / levels[k]! - 1)));
    levels = next;
    if (moved < STILL) break;
  }
  const heard = plan.bands.flatMap((_, b) => {
    const isHeard = products.pairs[b]!.some((value) => value > 0);
    return isHeard ? [Math.hypot(response[2 * b]!, response[2 * b + 1]!)] : [];
  });
  const middle = median(heard) || 1;
  return {
    ...model,
    response: response.map((value, n) => {
      const isHeard = products.pairs[n >> 1]!.some((each) => each > 0);
      return isHeard ? value / middle : value;
    }),
    gains: onSides((side) => model.gains[side].map((gain, i) => gain * levels[sources.all[i]!.track]! * middle)),
  };
};
