import { cellProducts, factorsOf, onSides, SIDES, type RoughProblem } from './model.ts';
import { factorAt, inverseFactored } from './normal-equations.ts';
import type { Fit } from './fit-balance.ts';
import { groupCount } from './sketch-plan.ts';

/** How well the level of a track is known. */
export interface Certainty {
  /** Standard error of its gain, a part of the gain. */
  readonly error: number;
  /** Tracks that it cannot be told from. */
  readonly twins: readonly number[];
  /** Part of its sound that no mix of the other tracks makes, 0..1. */
  readonly own: number;
}

/** Less than this part of a track's sound being its own (-25 dB), nothing can be said of its level. */
const LEAST_OWN = 10 ** -2.5;
/** Twins are those whose partial correlation with it is greater than this. */
const BOUND = 0.3;
/** A little is added to the diagonal, so that identical tracks leave something to divide by. */
const ROOM = 1e-7;

/** Part of each source that the others (of other tracks) do not make, and how strongly they are bound to it. */
const separability = (problem: RoughProblem, fit: Fit) => {
  const { products, sources, tracks } = problem;
  const { n } = products;
  const A = products.sum(fit.weights, factorsOf(problem, fit.model.levels));
  const places = Array.from({ length: n }, (_, i) => i).filter((i) => A[i * n + i]! > 0);
  for (const i of places) A[i * n + i]! *= 1 + ROOM;
  const m = places.length;
  const inverse = inverseFactored(factorAt(A, n, places), m);
  const own = new Float64Array(tracks).fill(1);
  const bound = new Float64Array(tracks * tracks);
  places.forEach((i, k) => {
    const track = sources.all[i]!.track;
    own[track] = Math.min(own[track]!, 1 / (inverse[k * (m + 1)]! * A[i * n + i]!));
    places.forEach((j, l) => {
      const other = sources.all[j]!.track;
      if (other === track) return;
      const partial = Math.abs(inverse[k * m + l]!) / Math.sqrt(inverse[k * (m + 1)]! * inverse[l * (m + 1)]!);
      const at = track * tracks + other;
      bound[at] = Math.max(bound[at]!, partial);
    });
  });
  return { own, bound };
};

/**
 * Standard errors of the level of every track by the sandwich formula (White, Econometrica 48(4), 1980): inverse normal
 * equations around the spread of what single blocks, and single groups of bands, pull it by; the greater of the two
 * counts. So a track that was filtered in the rough, or moved, is known less well than its residual alone would say.
 */
export const certaintiesOf = (problem: RoughProblem, fit: Fit): Certainty[] => {
  const { plan, tracks, sources, products } = problem;
  const { gains, levels } = fit.model;
  const groups = groupCount(plan);
  const cells = plan.blocks * groups;
  const { n } = products;
  const all = products.sum(fit.weights, factorsOf(problem, levels));
  const A = new Float64Array(tracks * tracks);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      const gain = gains[0][i]! * gains[0][j]! + gains[1][i]! * gains[1][j]!;
      A[sources.all[i]!.track * tracks + sources.all[j]!.track]! += gain * all[i * n + j]!;
    }
  }
  const pulls = new Float64Array(tracks * cells);
  const cross = onSides((side) => cellProducts(problem, fit.residual[side]));
  sources.all.forEach(({ track }, i) => {
    for (let cell = 0; cell < cells; cell++) {
      const level = levels[Math.floor(cell / groups) * tracks + track]!;
      let sum = 0;
      for (const side of SIDES) sum += gains[side][i]! * cross[side][i * cells + cell]!;
      pulls[track * cells + cell]! += fit.weights[cell]! * level * sum;
    }
  });
  const places = Array.from({ length: tracks }, (_, k) => k).filter((k) => A[k * (tracks + 1)]! > 0);
  for (const k of places) A[k * (tracks + 1)]! *= 1 + ROOM;
  const inverse = inverseFactored(factorAt(A, tracks, places), places.length);
  const errors = new Float64Array(tracks).fill(Infinity);
  places.forEach((track, k) => {
    const row = inverse.subarray(k * places.length, (k + 1) * places.length);
    errors[track] = Math.sqrt(Math.max(...spreads(row, places, pulls, plan.blocks, groups)));
  });
  const { own, bound } = separability(problem, fit);
  return Array.from(errors, (error, track) => ({
    error,
    own: own[track]!,
    twins:
      own[track]! < LEAST_OWN
        ? Array.from({ length: tracks }, (_, other) => other).filter((other) => bound[track * tracks + other]! > BOUND)
        : [],
  }));
};

/** Squared sums of pulls, turned into levels by `row` of the inverse: by block, and by group of bands. */
const spreads = (
  row: Float64Array,
  places: readonly number[],
  pulls: Float64Array,
  blocks: number,
  groups: number,
): readonly [number, number] => {
  const cells = blocks * groups;
  const byBlock = new Float64Array(blocks);
  const byGroup = new Float64Array(groups);
  places.forEach((track, k) => {
    for (let cell = 0; cell < cells; cell++) {
      const moved = row[k]! * pulls[track * cells + cell]!;
      byBlock[Math.floor(cell / groups)]! += moved;
      byGroup[cell % groups]! += moved;
    }
  });
  const squares = (values: Float64Array): number => values.reduce((sum, value) => sum + value * value, 0);
  return [squares(byBlock), squares(byGroup)];
};
