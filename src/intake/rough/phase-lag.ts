import { greatestAt } from '../../measure/peaks/greatest-at.ts';
import { minimumPhaseOf } from '../../measure/minimum-phase.ts';
import { SIDES, type Sides } from './model.ts';
import { blockOf, frameLength, groupCount, groupElements, type SketchPlan } from './sketch-plan.ts';

/** Lags are looked for so many samples to either side; coarser ones are known before. */
const REACH = 4;

/** What the phases say of a lag beyond that at which the frames were taken. */
export interface PhaseLag {
  /** How late the rough is, samples; within REACH of 0. */
  readonly samples: number;
  /** Part of the rough that the tracks explain at this lag, -1..1. */
  readonly explained: number;
}

/**
 * Phase, radians for each kept bin, of the filter of minimum phase whose gains the bands have (`response`, real and
 * imaginary part in turn): what an equaliser on the rough turns without being late.
 */
export const filterPhases = (plan: SketchPlan, response: Float64Array): Float64Array => {
  const magnitude = new Float64Array(plan.size / 2 + 1).fill(NaN);
  plan.bands.forEach(({ lower, upper }, b) => {
    const gain = Math.hypot(response[2 * b]!, response[2 * b + 1]!);
    const to = Math.min(plan.size / 2, Math.floor((upper * plan.size) / plan.sampleRate));
    for (let bin = Math.ceil((lower * plan.size) / plan.sampleRate); bin <= to; bin++) magnitude[bin] = gain;
  });
  const phase = minimumPhaseOf(magnitude);
  return Float64Array.from(plan.bins, (bin) => phase[bin]!);
};

/** What a prediction and the rough share, summed over frames and both sides, by the weights. */
export interface Shared {
  /** For each kept bin real and imaginary part in turn. */
  readonly cross: Float64Array;
  /** One over the root of the product of both energies; 0: one of them is silent. */
  readonly scale: number;
}

/** @param weights of cells (blocks x groups); over the blocks from `from` up to `to` */
export const sharedOf = (
  plan: SketchPlan,
  predicted: Sides<Float32Array>,
  rough: Sides<Float32Array>,
  weights: Float64Array,
  from: number,
  to: number,
): Shared => {
  const length = frameLength(plan);
  const groups = groupCount(plan);
  const cross = new Float64Array(length);
  let [pp, rr] = [0, 0];
  for (let frame = from * plan.perBlock; frame < Math.min(plan.frames, to * plan.perBlock); frame++) {
    for (let g = 0; g < groups; g++) {
      const weight = weights[blockOf(plan, frame) * groups + g]!;
      if (weight === 0) continue;
      const [first, end] = groupElements(plan, g);
      const base = frame * length;
      for (const side of SIDES) {
        const [p, r] = [predicted[side], rough[side]];
        for (let e = first; e < end; e += 2) {
          const [pr, pi, tr, ti] = [p[base + e]!, p[base + e + 1]!, r[base + e]!, r[base + e + 1]!];
          cross[e]! += weight * (pr * tr + pi * ti);
          cross[e + 1]! += weight * (pr * ti - pi * tr);
          pp += weight * (pr * pr + pi * pi);
          rr += weight * (tr * tr + ti * ti);
        }
      }
    }
  }
  return { cross, scale: pp > 0 && rr > 0 ? 1 / Math.sqrt(pp * rr) : 0 };
};

/**
 * The lag at which the prediction, later by it, shares most with the rough, from the phases of their cross-spectrum (delay
 * is a phase that rises with frequency). null: nothing is there.
 *
 * @param phases of a filter between the two, for each kept bin; null: none
 * @param without a group of bands that is left out
 */
export const phaseLagOf = (
  plan: SketchPlan,
  { cross, scale }: Shared,
  phases: Float64Array | null,
  without: number | null = null,
): PhaseLag | null => {
  if (scale === 0) return null;
  const [first, end] = without === null ? [0, 0] : groupElements(plan, without);
  const sharedAt = (lag: number): number => {
    let sum = 0;
    plan.bins.forEach((bin, n) => {
      if (2 * n >= first && 2 * n < end) return;
      const angle = (2 * Math.PI * bin * lag) / plan.size - (phases?.[n] ?? 0);
      sum += cross[2 * n]! * Math.cos(angle) - cross[2 * n + 1]! * Math.sin(angle);
    });
    return scale * sum;
  };
  let near = 0;
  for (let lag = -REACH; lag <= REACH; lag += 0.25) if (sharedAt(lag) > sharedAt(near)) near = lag;
  const samples = greatestAt(sharedAt, near - 0.25, near + 0.25);
  return { samples, explained: sharedAt(samples) };
};

/**
 * Standard error of that lag, samples, by the jackknife over the groups of bands (Efron and Stein, Annals of Statistics 9(3),
 * 1981): filters that are not known to the last turn each group by something else.
 */
export const lagErrorOf = (plan: SketchPlan, shared: Shared, phases: Float64Array | null): number => {
  const lags = Array.from({ length: groupCount(plan) }, (_, g) => phaseLagOf(plan, shared, phases, g)!.samples);
  const mean = lags.reduce((sum, lag) => sum + lag, 0) / lags.length;
  const squares = lags.reduce((sum, lag) => sum + (lag - mean) ** 2, 0);
  return Math.sqrt((squares * (lags.length - 1)) / lags.length);
};
