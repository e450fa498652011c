import { framesOf, type Audio } from '../dsp/audio.ts';
import { midSideTransformer, scaleToPower, spectrumFrame, windowStarts, type Spectrum } from '../measure/spectrum.ts';
import { sumIntoThirdOctaves, type BandSums } from '../measure/third-octaves.ts';
import { pairCount, quadratic } from './pairs.ts';

/**
 * Cross-spectra of every pair of paths in third octaves: the spectrum of any blend is their quadratic form, exactly
 * the long-term average spectrum of the summed paths.
 */
export interface BandGram {
  readonly sampleRate: number;
  /** For each band and then the rest, the mean power product of mid with mid of every pair (see pairs.ts). */
  readonly mid: readonly Float64Array[];
  readonly side: readonly Float64Array[];
}

/** Mid and side of one frame of one path: real and imaginary parts of each bin. */
interface Bins {
  readonly midRe: Float64Array;
  readonly midIm: Float64Array;
  readonly sideRe: Float64Array;
  readonly sideIm: Float64Array;
}

const binsOf = (count: number): Bins => ({
  midRe: new Float64Array(count),
  midIm: new Float64Array(count),
  sideRe: new Float64Array(count),
  sideIm: new Float64Array(count),
});

/** Takes mid and side apart out of the transform of mid + i side. */
const separate = (transform: Float64Array, { midRe, midIm, sideRe, sideIm }: Bins): void => {
  const size = transform.length / 2;
  for (let bin = 0; bin <= size / 2; bin++) {
    const mirror = bin === 0 ? 0 : size - bin;
    const re = transform[2 * bin]!;
    const im = transform[2 * bin + 1]!;
    const mirrorRe = transform[2 * mirror]!;
    const mirrorIm = transform[2 * mirror + 1]!;
    midRe[bin] = (re + mirrorRe) / 2;
    midIm[bin] = (im - mirrorIm) / 2;
    sideRe[bin] = (im + mirrorIm) / 2;
    sideIm[bin] = (mirrorRe - re) / 2;
  }
};

const addProduct = (
  aRe: Float64Array,
  aIm: Float64Array,
  bRe: Float64Array,
  bIm: Float64Array,
  sum: Float64Array,
): void => {
  for (let bin = 0; bin < sum.length; bin++) sum[bin]! += aRe[bin]! * bRe[bin]! + aIm[bin]! * bIm[bin]!;
};

/** Adds the products of every pair for one frame. */
const addFrame = (paths: readonly Bins[], mid: readonly Float64Array[], side: readonly Float64Array[]): void => {
  let pair = 0;
  for (let i = 0; i < paths.length; i++) {
    for (let j = i; j < paths.length; j++, pair++) {
      const a = paths[i]!;
      const b = paths[j]!;
      addProduct(a.midRe, a.midIm, b.midRe, b.midIm, mid[pair]!);
      addProduct(a.sideRe, a.sideIm, b.sideRe, b.sideIm, side[pair]!);
    }
  }
};

/** One number a pair for each band and the rest, out of the bins of each pair. */
const intoBands = (
  pairs: readonly Float64Array[],
  size: number,
  frames: number,
  sampleRate: number,
): Float64Array[] => {
  const sums = pairs.map((bins) => {
    scaleToPower(bins, size, frames);
    const { bands, rest } = sumIntoThirdOctaves(bins, sampleRate);
    return [...bands, rest];
  });
  return (sums[0] ?? []).map((_, band) => Float64Array.from(sums, (values) => values[band]!));
};

/** Cross-spectra of stereo paths of one rate and length, frame by frame as the spectrum of a single sound is taken. */
export const bandGramOf = (paths: readonly Audio[]): BandGram => {
  const sampleRate = paths[0]?.sampleRate ?? 48_000;
  const frames = paths[0] ? framesOf(paths[0]) : 0;
  const size = spectrumFrame(sampleRate);
  const bins = size / 2 + 1;
  const fresh = (): Float64Array[] => Array.from({ length: pairCount(paths.length) }, () => new Float64Array(bins));
  const mid = fresh();
  const side = fresh();
  const current = paths.map(() => binsOf(bins));
  const transform = midSideTransformer(size);
  for (const start of windowStarts(frames, size)) {
    paths.forEach(({ channels }, i) => separate(transform(channels[0]!, channels[1]!, start), current[i]!));
    addFrame(current, mid, side);
  }
  return { sampleRate, mid: intoBands(mid, size, frames, sampleRate), side: intoBands(side, size, frames, sampleRate) };
};

/** Spectrum of the blend whose pair weights are given, as that of the summed paths would measure. */
export const blendSpectrum = ({ mid, side }: BandGram, weights: Float64Array): Spectrum => {
  const sums = (bands: readonly Float64Array[]): BandSums => {
    const values = bands.map((band) => Math.max(0, quadratic(band, weights)));
    return { bands: Float64Array.from(values.slice(0, -1)), rest: values.at(-1) ?? 0 };
  };
  const midSums = sums(mid);
  const sideSums = sums(side);
  const level = {
    bands: midSums.bands.map((power, band) => 2 * (power + sideSums.bands[band]!)),
    rest: 2 * (midSums.rest + sideSums.rest),
  };
  return { level, midSide: { mid: midSums, side: sideSums } };
};
