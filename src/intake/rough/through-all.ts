import { SIDES, correctedSide, onSides, type RoughProblem, type Sides } from './model.ts';
import { median } from './median.ts';
import { blockOf, frameLength, groupCount, groupElements } from './sketch-plan.ts';

/** Which group of bands a band is in. */
const groupOfBand = (groupStart: Int32Array, band: number): number =>
  groupStart.findIndex((start, g) => band >= start && band < (groupStart[g + 1] ?? Infinity));

/**
 * What filter takes the sum of the tracks to the rough: for each band the complex gain that fits best over all frames and
 * both sides, by weighted least squares, scaled so that the median band has gain 1. Bands without sound have gain 1.
 *
 * @param weights of cells (blocks x groups)
 */
export const responseFor = (
  { plan, rough }: RoughProblem,
  predicted: Sides<Float32Array>,
  common: Float64Array,
  weights: Float64Array,
): Float64Array => {
  const { bands, bandStart, frames } = plan;
  const length = frameLength(plan);
  const groups = groupCount(plan);
  const out = new Float64Array(2 * bands.length);
  const sizes: number[] = [];
  for (let b = 0; b < bands.length; b++) {
    const g = groupOfBand(plan.groupStart, b);
    let [pp, re, im] = [0, 0, 0];
    for (let frame = 0; frame < frames; frame++) {
      const weight = weights[blockOf(plan, frame) * groups + g]! * common[frame]!;
      if (weight === 0) continue;
      for (const side of SIDES) {
        const [p, r] = [predicted[side], rough[side]];
        let [a, c, d] = [0, 0, 0];
        for (let e = frame * length + 2 * bandStart[b]!; e < frame * length + 2 * bandStart[b + 1]!; e += 2) {
          a += p[e]! * p[e]! + p[e + 1]! * p[e + 1]!;
          c += p[e]! * r[e]! + p[e + 1]! * r[e + 1]!;
          d += p[e]! * r[e + 1]! - p[e + 1]! * r[e]!;
        }
        pp += weight * common[frame]! * a;
        re += weight * c;
        im += weight * d;
      }
    }
    const isThere = pp > 0 && re * re + im * im > 0;
    out[2 * b] = isThere ? re / pp : NaN;
    out[2 * b + 1] = isThere ? im / pp : NaN;
    if (isThere) sizes.push(Math.hypot(re, im) / pp);
  }
  const middle = median(sizes) || 1;
  return out.map((value, n) => (Number.isNaN(value) ? (n % 2 === 0 ? 1 : 0) : value / middle));
};

/** A frame says as much for a gain of 1 before it is looked at as a spread of 0.3 would (on weights of one over the noise). */
const STEADY = 10;

/** Gains further from the median than this, linear, are not those of a bus. */
const [LEAST, MOST] = [0.05, 8];

/**
 * The gain that fits the sum of the tracks to the rough in each frame, over all bands and both sides; the median frame has
 * gain 1. Frames without sound have gain 1.
 */
export const commonFor = (
  problem: RoughProblem,
  predicted: Sides<Float32Array>,
  response: Float64Array,
  weights: Float64Array,
): Float64Array => {
  const { plan, rough } = problem;
  const length = frameLength(plan);
  const groups = groupCount(plan);
  const plain = { response, common: new Float64Array(plan.frames).fill(1) };
  const target = onSides((side) => correctedSide(problem, rough[side], plain));
  const out = new Float64Array(plan.frames);
  for (let frame = 0; frame < plan.frames; frame++) {
    let [pp, pr] = [0, 0];
    for (let g = 0; g < groups; g++) {
      const weight = weights[blockOf(plan, frame) * groups + g]!;
      const [from, to] = groupElements(plan, g);
      for (const side of SIDES) {
        const [p, t] = [predicted[side], target[side]];
        let [a, b] = [0, 0];
        for (let e = frame * length + from; e < frame * length + to; e++) {
          a += p[e]! * p[e]!;
          b += p[e]! * t[e]!;
        }
        pp += weight * a;
        pr += weight * b;
      }
    }
    out[frame] = pp > 0 ? (pr + STEADY) / (pp + STEADY) : 0;
  }
  return levelledCommon(out);
};

/** Scaled so that the median of those that tell something is 1; the others are 1. */
export const levelledCommon = (common: Float64Array): Float64Array => {
  const middle = median(Array.from(common).filter((gain) => gain > 0)) || 1;
  return common.map((gain) => (gain > LEAST * middle && gain < MOST * middle ? gain / middle : 1));
};
