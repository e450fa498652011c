import { decibelsOf } from '../dsp/decibels.ts';
import type { Figures } from '../measure/figures.ts';
import { loudnessOf } from '../measure/loudness.ts';
import { bandFiguresOf } from '../measure/spectrum.ts';
import { correlationOf, energyRatioDb, monoLossOf, type StereoSums } from '../measure/stereo.ts';
import type { WeightedEnergy } from '../measure/weighted-energy.ts';
import { blendSpectrum, type BandGram } from './band-gram.ts';
import type { Gram, WholeProducts } from './gram.ts';
import { pairWeights, quadratic } from './pairs.ts';

/** The figures of a blend that follow from the Gram products alone: all but those of single samples. */
export type BlendFigures = Omit<Figures, 'truePeakDbtp' | 'samplePeakDbfs' | 'crestDb' | 'plrDb' | 'clippedSamples'>;

/** Power that is only the rounding of products that should cancel: -240 dB of what went in. */
const ROUNDING = 1e-24;

const sumsOf = ({ leftLeft, rightRight, leftRight }: WholeProducts, weights: Float64Array): StereoSums => {
  const left = Math.max(0, quadratic(leftLeft, weights));
  const right = Math.max(0, quadratic(rightRight, weights));
  const cross = quadratic(leftRight, weights);
  const floor = ROUNDING * (left + right);
  const above = (value: number): number => (value > floor ? value : 0);
  return {
    left,
    right,
    cross,
    mid: above((left + right + 2 * cross) / 4),
    side: above((left + right - 2 * cross) / 4),
  };
};

/** The K-weighted energy of the blend in 10 ms sub-blocks, both channels together. */
export const blendEnergy = ({ sampleRate, blocks, weightedSeries }: Gram, weights: Float64Array): WeightedEnergy => {
  const series = new Float64Array(blocks);
  weightedSeries.forEach((pair, n) => {
    const weight = weights[n]!;
    if (weight === 0) return;
    for (let block = 0; block < blocks; block++) series[block]! += weight * pair[block]!;
  });
  return { sampleRate, whole: blocks, channels: [series.map((energy) => Math.max(0, energy))], cross: null };
};

const dcOf = ({ sums, frames }: Gram, gains: readonly number[]): number => {
  const [left, right] = [sums.left, sums.right].map(
    (side) => side.reduce((sum, value, i) => sum + gains[i]! * value, 0) / frames,
  );
  return Math.abs(right!) > Math.abs(left!) ? right! : left!;
};

/**
 * Figures of the blend of the paths with these gains (linear, in the order of the paths), equal to summing the paths
 * and measuring, without doing either.
 */
export const blendFigures = (gram: Gram, bands: BandGram, gains: readonly number[]): BlendFigures => {
  const weights = pairWeights(gains);
  const sums = sumsOf(gram.plain, weights);
  const weighted = sumsOf(gram.weighted, weights);
  const loudness = loudnessOf(blendEnergy(gram, weights));
  const rms = Math.sqrt((sums.left + sums.right) / (2 * gram.frames));
  const silent = !(rms > 0);
  return {
    integratedLufs: loudness.integrated,
    loudnessRangeLu: loudness.range,
    maxMomentaryLufs: loudness.maxMomentary,
    maxShortTermLufs: loudness.maxShortTerm,
    rmsDbfs: silent ? null : decibelsOf(rms),
    dcOffset: gram.frames > 0 ? dcOf(gram, gains) : null,
    stereo: {
      correlation: correlationOf(sums),
      sideToMidDb: energyRatioDb(sums.side, sums.mid),
      balanceDb: energyRatioDb(sums.right, sums.left),
      monoLossLu: silent
        ? null
        : monoLossOf({
            sampleRate: gram.sampleRate,
            whole: 1,
            channels: [Float64Array.of(weighted.left), Float64Array.of(weighted.right)],
            cross: Float64Array.of(weighted.cross),
          }),
    },
    bands: bandFiguresOf(blendSpectrum(bands, weights), gram.sampleRate),
  };
};
