import type { Products } from './products.ts';
import { blockOf, frameLength, groupCount, groupElements, type SketchPlan } from './sketch-plan.ts';
import type { Sources } from './sources.ts';

/** Left and right. */
export type Sides<T> = readonly [T, T];
export const SIDES = [0, 1] as const;

/** The same for both sides. */
export const onSides = <T>(make: (side: 0 | 1) => T): Sides<T> => [make(0), make(1)];

/** What is to be explained, and by what. */
export interface RoughProblem {
  readonly plan: SketchPlan;
  readonly tracks: number;
  readonly sources: Sources;
  readonly products: Products;
  readonly rough: Sides<Float32Array>;
}

/**
 * What the rough is explained by, in each kept bin of each frame:
 * rough = response(band) x common(frame) x sum over sources of gain(source, side) x level(track, block) x source.
 */
export interface Model {
  /** Linear gain of each source in each side, none below 0. */
  readonly gains: Sides<Float64Array>;
  /** Beside its gain, the level of each track in each block, linear (blocks x tracks); negative: inverted polarity. */
  readonly levels: Float64Array;
  /** What all went through, per band: real and imaginary part in turn; the median band has gain 1. */
  readonly response: Float64Array;
  /** What all went through, per frame: linear gain; the median frame has 1. */
  readonly common: Float64Array;
}

/** A model in which nothing is in the rough yet. */
export const emptyModel = ({ plan, tracks, sources }: RoughProblem): Model => ({
  gains: onSides(() => new Float64Array(sources.all.length)),
  levels: new Float64Array(plan.blocks * tracks).fill(1),
  response: Float64Array.from({ length: 2 * plan.bands.length }, (_, n) => (n % 2 === 0 ? 1 : 0)),
  common: new Float64Array(plan.frames).fill(1),
});

/** The level of each source's track in each block (blocks x sources). */
export const factorsOf = ({ plan, tracks, sources }: RoughProblem, levels: Float64Array): Float64Array => {
  const n = sources.all.length;
  const out = new Float64Array(plan.blocks * n);
  for (let block = 0; block < plan.blocks; block++) {
    sources.all.forEach(({ track }, i) => (out[block * n + i] = levels[block * tracks + track]!));
  }
  return out;
};

/** A side of the rough with response and common gain taken off: what the sum of the sources should be. */
export const correctedSide = (
  { plan }: RoughProblem,
  side: Float32Array,
  { response, common }: Pick<Model, 'response' | 'common'>,
): Float32Array => {
  const { bandStart, bands, frames } = plan;
  const length = frameLength(plan);
  const out = new Float32Array(side.length);
  for (let frame = 0; frame < frames; frame++) {
    for (let b = 0; b < bands.length; b++) {
      const [hr, hi] = [response[2 * b]!, response[2 * b + 1]!];
      const scale = 1 / (common[frame]! * (hr * hr + hi * hi));
      const end = frame * length + 2 * bandStart[b + 1]!;
      for (let e = frame * length + 2 * bandStart[b]!; e < end; e += 2) {
        out[e] = scale * (side[e]! * hr + side[e + 1]! * hi);
        out[e + 1] = scale * (side[e + 1]! * hr - side[e]! * hi);
      }
    }
  }
  return out;
};

/** The sum of the sources at their gains and levels, without response and common gain. */
export const predictedSide = (
  { plan, sources, tracks }: RoughProblem,
  gains: Float64Array,
  levels: Float64Array,
): Float32Array => {
  const length = frameLength(plan);
  const out = new Float32Array(plan.frames * length);
  // Frame by frame, so that what is summed stays near the processor.
  const row = new Float64Array(length);
  for (let frame = 0; frame < plan.frames; frame++) {
    const base = frame * length;
    const block = blockOf(plan, frame);
    row.fill(0);
    sources.all.forEach(({ channel, track }, i) => {
      if (gains[i] !== 0) addTo(row, channel, base, gains[i]! * levels[block * tracks + track]!);
    });
    out.set(row, base);
  }
  return out;
};

const addTo = (row: Float64Array, from: Float32Array, base: number, gain: number): void => {
  for (let e = 0; e < row.length; e++) row[e]! += gain * from[base + e]!;
};

/** Inner product of each source with a target in each cell: sources x blocks x groups. */
export const cellProducts = ({ plan, sources }: RoughProblem, target: Float32Array): Float64Array => {
  const length = frameLength(plan);
  const groups = groupCount(plan);
  const cells = plan.blocks * groups;
  const spans = Array.from({ length: groups }, (_, g) => groupElements(plan, g));
  const out = new Float64Array(sources.all.length * cells);
  for (let frame = 0; frame < plan.frames; frame++) {
    const first = blockOf(plan, frame) * groups;
    sources.all.forEach(({ channel }, i) => {
      for (let g = 0; g < groups; g++) {
        const [from, to] = spans[g]!;
        out[i * cells + first + g]! += productOf(channel, target, frame * length + from, frame * length + to);
      }
    });
  }
  return out;
};

/** Inner product over elements from..to-1, an even number; two sums do not wait for each other. */
const productOf = (a: Float32Array, b: Float32Array, from: number, to: number): number => {
  let [s, t] = [0, 0];
  for (let e = from; e + 1 < to; e += 2) {
    s += a[e]! * b[e]!;
    t += a[e + 1]! * b[e + 1]!;
  }
  return s + t;
};

/** Mean power per element in each cell (blocks x groups), summed over both sides. */
export const cellPowers = (plan: SketchPlan, sides: Sides<Float32Array>): Float64Array => {
  const groups = groupCount(plan);
  const length = frameLength(plan);
  const out = new Float64Array(plan.blocks * groups);
  for (let frame = 0; frame < plan.frames; frame++) {
    const cell = blockOf(plan, frame) * groups;
    for (let g = 0; g < groups; g++) {
      const [from, to] = groupElements(plan, g);
      let sum = 0;
      for (const side of sides) {
        for (let e = frame * length + from; e < frame * length + to; e++) sum += side[e]! ** 2;
      }
      out[cell + g]! += sum / ((to - from) * plan.perBlock);
    }
  }
  return out;
};

export const differenceOf = (a: Sides<Float32Array>, b: Sides<Float32Array>): Sides<Float32Array> =>
  onSides((side) => {
    const out = a[side].slice();
    const less = b[side];
    for (let n = 0; n < out.length; n++) out[n]! -= less[n]!;
    return out;
  });
