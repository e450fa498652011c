import { onSides, SIDES, type Model, type RoughProblem, type Sides } from './model.ts';
import { frameLength, groupCount, type SketchPlan } from './sketch-plan.ts';

/** What the tracks, at their gains and levels, share with each other and with the rough, band by band. */
export interface BandProducts {
  /** Inner products of the tracks, both sides together: for each band tracks x tracks, row after row. */
  readonly pairs: readonly Float64Array[];
  /** Of each track with the rough less what all went through over time: for each band real and imaginary part in turn. */
  readonly withRough: readonly Float64Array[];
}

/** Group of bands that each band is in. */
export const groupOfBands = (plan: SketchPlan): Int32Array => {
  const out = new Int32Array(plan.bands.length);
  for (let g = 0; g < groupCount(plan); g++) out.fill(g, plan.groupStart[g], plan.groupStart[g + 1]);
  return out;
};

/** One band of one block of every source, each times its level and the root of the weight; null: silence. */
const rowsOf = (
  { plan, sources, tracks }: RoughProblem,
  levels: Float64Array,
  weight: number,
  block: number,
  band: number,
): (Float64Array | null)[] => {
  const length = frameLength(plan);
  const first = block * plan.perBlock;
  const frames = Math.min(plan.perBlock, plan.frames - first);
  const [from, to] = [2 * plan.bandStart[band]!, 2 * plan.bandStart[band + 1]!];
  return sources.all.map(({ channel, track }) => {
    const scale = Math.sqrt(weight) * levels[block * tracks + track]!;
    const row = new Float64Array((to - from) * frames);
    let heard = 0;
    for (let frame = 0, at = 0; frame < frames; frame++) {
      const base = (first + frame) * length;
      for (let e = base + from; e < base + to; e++) {
        const value = scale * channel[e]!;
        row[at++] = value;
        heard += value * value;
      }
    }
    return heard > 0 ? row : null;
  });
};

/** The same of a side of the rough, its level over time taken off. */
const roughRow = (
  { plan, rough }: RoughProblem,
  common: Float64Array,
  side: 0 | 1,
  weight: number,
  block: number,
  band: number,
): Float64Array => {
  const length = frameLength(plan);
  const first = block * plan.perBlock;
  const frames = Math.min(plan.perBlock, plan.frames - first);
  const [from, to] = [2 * plan.bandStart[band]!, 2 * plan.bandStart[band + 1]!];
  const row = new Float64Array((to - from) * frames);
  for (let frame = 0, at = 0; frame < frames; frame++) {
    const scale = Math.sqrt(weight) / common[first + frame]!;
    const base = (first + frame) * length;
    for (let e = base + from; e < base + to; e++) row[at++] = scale * rough[side][e]!;
  }
  return row;
};

/** Of complex numbers that lie real and imaginary in turn: two sums that do not wait for each other. */
const dot = (a: Float64Array, b: Float64Array): number => {
  let [s, t] = [0, 0];
  for (let n = 0; n < a.length; n += 2) {
    s += a[n]! * b[n]!;
    t += a[n + 1]! * b[n + 1]!;
  }
  return s + t;
};

/** Imaginary part of the product of b with a turned over, of complex numbers that lie real and imaginary in turn. */
const crossDot = (a: Float64Array, b: Float64Array): number => {
  let sum = 0;
  for (let n = 0; n < a.length; n += 2) sum += a[n]! * b[n + 1]! - a[n + 1]! * b[n]!;
  return sum;
};

/** @param weights of cells (blocks x groups) */
export const bandProducts = (
  problem: RoughProblem,
  { gains, levels, common }: Model,
  weights: Float64Array,
): BandProducts => {
  const { plan, sources, tracks } = problem;
  const groups = groupCount(plan);
  const groupOf = groupOfBands(plan);
  const pairs = plan.bands.map(() => new Float64Array(tracks * tracks));
  const withRough = plan.bands.map(() => new Float64Array(2 * tracks));
  for (let block = 0; block < plan.blocks; block++) {
    plan.bands.forEach((_, b) => {
      const weight = weights[block * groups + groupOf[b]!]!;
      if (weight === 0) return;
      const rows = rowsOf(problem, levels, weight, block, b);
      const sides: Sides<Float64Array> = onSides((side) => roughRow(problem, common, side, weight, block, b));
      rows.forEach((row, i) => {
        if (!row) return;
        const { track } = sources.all[i]!;
        for (const side of SIDES) {
          const gain = gains[side][i]!;
          if (gain === 0) continue;
          withRough[b]![2 * track]! += gain * dot(row, sides[side]);
          withRough[b]![2 * track + 1]! += gain * crossDot(row, sides[side]);
        }
        for (let j = 0; j <= i; j++) {
          const gain = gains[0][i]! * gains[0][j]! + gains[1][i]! * gains[1][j]!;
          const second = rows[j];
          if (gain === 0 || !second) continue;
          const shared = gain * dot(row, second);
          const other = sources.all[j]!.track;
          pairs[b]![track * tracks + other]! += shared;
          if (i !== j) pairs[b]![other * tracks + track]! += shared;
        }
      });
    });
  }
  return { pairs, withRough };
};
