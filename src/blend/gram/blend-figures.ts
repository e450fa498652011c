import { decibelsOf } from '../../audio/decibels.ts';
import type { PeakKey } from '../../measure/definitions/definitions.ts';
import type { Figures } from '../../measure/figures.ts';
import { bandFiguresOf } from '../../measure/spectrum.ts';
import { correlationOf, energyRatioDb, type StereoSums } from '../../measure/stereo/stereo.ts';
import { blendSpectrum, type BandGram } from './band-gram.ts';
import type { BlendLoudness } from './blend-loudness.ts';
import type { Gram } from './gram.ts';
import { quadratic } from './pairs.ts';
import type { PeakBounds } from '../peaks/peak-bounds.ts';

/** The figures of a blend that follow from the Gram products alone: all but peaks and clipped samples. */
export type BlendFigures = Omit<Figures, PeakKey>;

/** Of these, the figures that do not need the energies of every 10 ms. */
export type BlendEssentials = Omit<BlendFigures, 'maxMomentaryLufs' | 'maxShortTermLufs'>;

/** Part of the energy (-240 dB) below which a mid or side is only the rounding of the transforms. */
const NOTHING = 1e-24;

const stereoSums = (gram: Gram, bands: BandGram, weights: Float64Array): StereoSums => {
  const energy = (values: Float64Array): number => Math.max(0, quadratic(values, weights));
  const both = energy(bands.wholeMid) + energy(bands.wholeSide);
  const above = (power: number): number => (power > NOTHING * both ? gram.frames * power : 0);
  const mid = above(energy(bands.wholeMid));
  const side = above(energy(bands.wholeSide));
  // L R' + R L' is twice M M' - S S'.
  return { left: energy(gram.left), right: energy(gram.right), cross: mid - side, mid, side };
};

/** As monoLossOf of stereo.ts, from the energies of K-weighted mid and side. */
const monoLossOf = ({ weightedMid, weightedSide }: Gram, weights: Float64Array): number | null => {
  const mid = Math.max(0, quadratic(weightedMid, weights));
  const side = Math.max(0, quadratic(weightedSide, weights));
  return mid > (mid + side) * 0.5e-15 ? Math.min(0, 10 * Math.log10(mid / (mid + side))) : null;
};

const dcOf = (bounds: readonly PeakBounds[], frames: number, gains: readonly number[]): number => {
  const [left, right] = ([0, 1] as const).map(
    (channel) => bounds.reduce((sum, { sums }, i) => sum + gains[i]! * sums[channel], 0) / frames,
  );
  return Math.abs(right!) > Math.abs(left!) ? right! : left!;
};

/**
 * Figures of the blend of the paths with these gains (linear, in the order of the paths) and pair weights, equal to
 * summing the paths and measuring, without doing either. `loudness` has taken the same weights.
 */
export const blendEssentials = (
  gram: Gram,
  bands: BandGram,
  bounds: readonly PeakBounds[],
  loudness: BlendLoudness,
  gains: readonly number[],
  weights: Float64Array,
): BlendEssentials => {
  const sums = stereoSums(gram, bands, weights);
  const rms = Math.sqrt((sums.left + sums.right) / (2 * gram.frames));
  const silent = !(rms > 0);
  return {
    integratedLufs: loudness.integrated(),
    loudnessRangeLu: loudness.range(),
    rmsDbfs: silent ? null : decibelsOf(rms),
    dcOffset: gram.frames > 0 ? dcOf(bounds, gram.frames, gains) : null,
    stereo: {
      correlation: correlationOf(sums),
      sideToMidDb: energyRatioDb(sums.side, sums.mid),
      balanceDb: energyRatioDb(sums.right, sums.left),
      monoLossLu: silent ? null : monoLossOf(gram, weights),
    },
    bands: bandFiguresOf(blendSpectrum(bands, weights), gram.sampleRate),
  };
};
