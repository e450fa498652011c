import { median } from './median.ts';
import { groupCount, type SketchPlan } from './sketch-plan.ts';

/** Noise below this part of a group's mean power (-90 dB) is rounding. */
const ROUNDING = 1e-9;
/** Cells this far below the mean of their group (-60 dB) are pauses. */
const PAUSE = 1e-6;

/** What is unexplained in the usual cell of each group, as a part of the rough's power there. */
const usualPart = (cells: readonly number[], rough: Float64Array, residual: Float64Array): number =>
  median(cells.map((cell) => residual[cell]! / rough[cell]!));

/**
 * Weights of cells (blocks x groups): one over the power that is expected to be unexplained there, which is what was, and
 * the part of the rough that usually is in these bands. So a cell that the tracks cannot explain (a limiter at work, an
 * effect) has little say: iteratively re-weighted least squares with the weights of Geman and McClure (1985; from memory), which
 * leave out more than those of a Cauchy distribution do: on roughs from a bus levels then were 3 to 20 % nearer to the truth.
 */
export const weightsFrom = (plan: SketchPlan, rough: Float64Array, residual: Float64Array): Float64Array =>
  weighted(plan, rough, residual, true);

/** The same without what was unexplained in the cell itself: for what is looked for there. */
export const usualWeights = (plan: SketchPlan, rough: Float64Array, residual: Float64Array): Float64Array =>
  weighted(plan, rough, residual, false);

const weighted = (plan: SketchPlan, rough: Float64Array, residual: Float64Array, own: boolean): Float64Array => {
  const groups = groupCount(plan);
  const out = new Float64Array(rough.length);
  for (let g = 0; g < groups; g++) {
    const cells = Array.from({ length: plan.blocks }, (_, block) => block * groups + g);
    const mean = cells.reduce((sum, cell) => sum + rough[cell]!, 0) / plan.blocks;
    const heard = cells.filter((cell) => rough[cell]! > PAUSE * mean);
    const part = usualPart(heard, rough, residual);
    for (const cell of heard) {
      const usual = part * rough[cell]! + ROUNDING * mean;
      out[cell] = own ? usual / (residual[cell]! + usual) ** 2 : 1 / usual;
    }
  }
  return out;
};
