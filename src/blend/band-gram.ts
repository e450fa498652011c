import { framesOf, type Audio } from '../dsp/audio.ts';
import { midSideTransformer, spectrumFrame, windowStarts, type Spectrum } from '../measure/spectrum.ts';
import { binStretches, thirdOctavesBelow, type BandSums, type BinStretch } from '../measure/third-octaves.ts';
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

/** Longest stretch of bins looked at for all pairs before the next: that much of all paths stays close at hand. */
const TILE = 512;

/** The stretches of bins that make each band, in tiles, weighted so that squares become mean power. */
const tilesOf = (size: number, frames: number, sampleRate: number): readonly BinStretch[] => {
  const last = size / 2;
  const scale = 1 / (size * frames);
  return binStretches(last, sampleRate).flatMap(({ band, from, to, weight }) => {
    const tiles: BinStretch[] = [];
    for (let start = from; start < to;) {
      // The first and last bin stand for one sign of frequency, all others for both.
      const single = start === 0 || start === last;
      const end = single ? start + 1 : Math.min(to, last, start + TILE);
      tiles.push({ band, from: start, to: end, weight: weight * scale * (single ? 1 : 2) });
      start = end;
    }
    return tiles;
  });
};

/** Adds one frame of every path: for each tile, the products of all pairs. */
const addFrame = (
  paths: readonly Bins[],
  tiles: readonly BinStretch[],
  mid: readonly Float64Array[],
  side: readonly Float64Array[],
): void => {
  for (const { band, from, to, weight } of tiles) {
    const midSums = mid[band]!;
    const sideSums = side[band]!;
    let pair = 0;
    for (let i = 0; i < paths.length; i++) {
      const a = paths[i]!;
      for (let j = i; j < paths.length; j++, pair++) {
        const b = paths[j]!;
        midSums[pair]! += weight * product(a.midRe, a.midIm, b.midRe, b.midIm, from, to);
        sideSums[pair]! += weight * product(a.sideRe, a.sideIm, b.sideRe, b.sideIm, from, to);
      }
    }
  }
};

const product = (
  aRe: Float64Array,
  aIm: Float64Array,
  bRe: Float64Array,
  bIm: Float64Array,
  from: number,
  to: number,
): number => {
  let sum = 0;
  for (let bin = from; bin < to; bin++) sum += aRe[bin]! * bRe[bin]! + aIm[bin]! * bIm[bin]!;
  return sum;
};

/** Cross-spectra of stereo paths of one rate and length, frame by frame as the spectrum of a single sound is taken. */
export const bandGramOf = (paths: readonly Audio[]): BandGram => {
  const sampleRate = paths[0]?.sampleRate ?? 48_000;
  const frames = paths[0] ? framesOf(paths[0]) : 0;
  const size = spectrumFrame(sampleRate);
  const tiles = tilesOf(size, frames, sampleRate);
  const bands = thirdOctavesBelow(sampleRate).length + 1;
  const fresh = (): Float64Array[] => Array.from({ length: bands }, () => new Float64Array(pairCount(paths.length)));
  const mid = fresh();
  const side = fresh();
  const current = paths.map(() => binsOf(size / 2 + 1));
  const transform = midSideTransformer(size);
  for (const start of windowStarts(frames, size)) {
    paths.forEach(({ channels }, i) => separate(transform(channels[0]!, channels[1]!, start), current[i]!));
    addFrame(current, tiles, mid, side);
  }
  return { sampleRate, mid, side };
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
