import { greatestAt } from '../../measure/greatest-at.ts';
import { minimumPhaseOf } from '../../measure/minimum-phase.ts';
import { SIDES, type Sides } from './model.ts';
import { blockOf, frameLength, groupCount, groupElements, type SketchPlan } from './sketch-plan.ts';

/** Lags are looked for so many samples to either side; coarser ones are known before. */
const REACH = 4;

/** What the phases say of a lag beyond that at which the frames were taken. */
export interface PhaseLag {
  /** How late the rough is, samples; within REACH of 0. */
  readonly samples: number;
  /** Part of the rough that the tracks explain at this lag and at the nearest whole one, -1..1. */
  readonly explained: number;
  readonly atWhole: number;
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

/**
 * The lag at which the prediction, later by it, shares most with the rough, from the phases of their cross-spectrum (delay
 * is a phase that rises with frequency), over the blocks from `from` up to `to`. null: nothing is there.
 *
 * @param weights of cells (blocks x groups)
 * @param phases of a filter between the two, for each kept bin; null: none
 */
export const phaseLagOf = (
  plan: SketchPlan,
  predicted: Sides<Float32Array>,
  rough: Sides<Float32Array>,
  weights: Float64Array,
  phases: Float64Array | null,
  from: number,
  to: number,
): PhaseLag | null => {
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
  if (!(pp > 0 && rr > 0)) return null;
  const scale = 1 / Math.sqrt(pp * rr);
  const sharedAt = (lag: number): number => {
    let sum = 0;
    plan.bins.forEach((bin, n) => {
      const angle = (2 * Math.PI * bin * lag) / plan.size - (phases?.[n] ?? 0);
      sum += cross[2 * n]! * Math.cos(angle) - cross[2 * n + 1]! * Math.sin(angle);
    });
    return scale * sum;
  };
  let near = 0;
  for (let lag = -REACH; lag <= REACH; lag += 0.25) if (sharedAt(lag) > sharedAt(near)) near = lag;
  const samples = greatestAt(sharedAt, near - 0.25, near + 0.25);
  return { samples, explained: sharedAt(samples), atWhole: sharedAt(Math.round(samples)) };
};
