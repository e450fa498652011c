import type { BandSums, BinStretch } from '../measure/third-octaves.ts';
import { binStretches, thirdOctavesBelow } from '../measure/third-octaves.ts';
import type { Spectrum } from '../measure/spectrum.ts';
import { addProducts, matrixFor, padded, type Rows } from './dots.ts';
import { pairCount, pairIndex, quadratic, rowsOf, takePairs } from './pairs.ts';
import type { FrameLayout } from './path-spectra.ts';

/**
 * Cross-spectra of every pair of paths in third octaves: the spectrum of any blend is their quadratic form, exactly
 * the long-term average spectrum of the summed paths. All are mean power products, one number a pair (pairs.ts).
 */
export interface BandGram {
  readonly sampleRate: number;
  /** For each band and then the rest, products of mid with mid, and of side with side. */
  readonly mid: readonly Float64Array[];
  readonly side: readonly Float64Array[];
  /** Mid with mid and side with side over all frequencies. */
  readonly wholeMid: Float64Array;
  readonly wholeSide: Float64Array;
  /** Below LOWS of spectrum.ts: left with left, right with right, and the symmetric part of left with right. */
  readonly lows: { readonly left: Float64Array; readonly right: Float64Array; readonly cross: Float64Array };
}

/** Longest stretch of bins looked at for all pairs before the next: that much of all paths stays close at hand. */
const TILE = 512;

/** The stretches of bins that make each band, in tiles, weighted so that squares become mean power. */
const tilesOf = (last: number, scale: number, sampleRate: number): readonly BinStretch[] =>
  binStretches(last, sampleRate).flatMap(({ band, from, to, weight }) => {
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

/** The matrices being filled. */
interface Sums {
  readonly mid: readonly Float64Array[];
  readonly side: readonly Float64Array[];
  readonly lowLeft: Float64Array;
  readonly lowRight: Float64Array;
  readonly lowMid: Float64Array;
  readonly lowSide: Float64Array;
}

/** Adds the products of bins `from` to `to` of both parts, real and imaginary, of a spectrum. */
const addPart = (
  rows: Rows,
  frames: readonly Float32Array[],
  [real, imaginary]: readonly [number, number],
  { from, to, weight }: Omit<BinStretch, 'band'>,
  sums: Float64Array,
): void => {
  addProducts(rows, frames, real + from, real + to, weight, sums);
  addProducts(rows, frames, imaginary + from, imaginary + to, weight, sums);
};

/**
 * Cross-spectra from the spectra of the paths (paths x frames), step by step; each step yields the part done, 0..1.
 * @param length frames of the sound itself
 * With `changed`, all but the pairs of that path are taken over from `before`.
 */
export function* bandGramSteps(
  spectra: readonly (readonly Float32Array[])[],
  layout: FrameLayout,
  sampleRate: number,
  length: number,
  changed: number | null = null,
  before: BandGram | null = null,
): Generator<number, BandGram> {
  const rows = rowsOf(spectra.length, changed);
  const scale = 1 / (layout.size * length);
  const tiles = tilesOf(layout.size / 2, scale, sampleRate);
  const bands = thirdOctavesBelow(sampleRate).length + 1;
  const fresh = (): Float64Array[] => Array.from({ length: bands }, () => matrixFor(rows));
  const sums: Sums = {
    mid: fresh(),
    side: fresh(),
    lowLeft: matrixFor(rows),
    lowRight: matrixFor(rows),
    lowMid: matrixFor(rows),
    lowSide: matrixFor(rows),
  };
  const lowTiles = [
    { from: 0, to: 1, weight: scale },
    { from: 1, to: layout.lows, weight: 2 * scale },
  ];
  const count = spectra[0]?.length ?? 0;
  for (let n = 0; n < count; n++) {
    const frames = padded(spectra.map((path) => path[n]!));
    for (const tile of tiles) {
      addPart(rows, frames, layout.mid, tile, sums.mid[tile.band]!);
      addPart(rows, frames, layout.side, tile, sums.side[tile.band]!);
    }
    for (const tile of lowTiles) {
      addPart(rows, frames, layout.lowLeft, tile, sums.lowLeft);
      addPart(rows, frames, layout.lowRight, tile, sums.lowRight);
      addPart(rows, frames, layout.mid, tile, sums.lowMid);
      addPart(rows, frames, layout.side, tile, sums.lowSide);
    }
    yield (n + 1) / count;
  }
  return gathered(rows, sums, sampleRate, before);
}

const gathered = (rows: Rows, sums: Sums, sampleRate: number, before: BandGram | null): BandGram => {
  const pairs = pairCount(rows.count);
  const into = (matrix: Float64Array, known: Float64Array | undefined): Float64Array => {
    const values = known?.slice() ?? new Float64Array(pairs);
    takePairs(rows, matrix, values);
    return values;
  };
  const mid = sums.mid.map((matrix, band) => into(matrix, before?.mid[band]));
  const side = sums.side.map((matrix, band) => into(matrix, before?.side[band]));
  const whole = (bands: readonly Float64Array[]): Float64Array =>
    Float64Array.from({ length: pairs }, (_, pair) => bands.reduce((sum, values) => sum + values[pair]!, 0));
  // L R' + R L' is twice M M' - S S'.
  const lowCross = sums.lowMid.map((product, cell) => product - sums.lowSide[cell]!);
  return {
    sampleRate,
    mid,
    side,
    wholeMid: whole(mid),
    wholeSide: whole(side),
    lows: {
      left: into(sums.lowLeft, before?.lows.left),
      right: into(sums.lowRight, before?.lows.right),
      cross: into(lowCross, before?.lows.cross),
    },
  };
};

/** Spectrum of the blend whose pair weights are given, as that of the summed paths would measure. */
export const blendSpectrum = ({ mid, side, lows }: BandGram, weights: Float64Array): Spectrum => {
  const positive = (values: Float64Array): number => Math.max(0, quadratic(values, weights));
  const sums = (bands: readonly Float64Array[]): BandSums => {
    const values = bands.map(positive);
    return { bands: Float64Array.from(values.slice(0, -1)), rest: values.at(-1) ?? 0 };
  };
  const midSums = sums(mid);
  const sideSums = sums(side);
  const level = {
    bands: midSums.bands.map((power, band) => 2 * (power + sideSums.bands[band]!)),
    rest: 2 * (midSums.rest + sideSums.rest),
  };
  return {
    level,
    midSide: { mid: midSums, side: sideSums },
    lows: { left: positive(lows.left), right: positive(lows.right), cross: quadratic(lows.cross, weights) },
  };
};

/** Third octaves from the lowest on (25 to 250 Hz) in which a copy that is a few milliseconds late is still in step. */
const LOW_BANDS = 11;

/** Correlation in such a band from which two paths may be one sound twice; strangers stay below it in all of a song. */
const RESEMBLANCE = 0.3;

/** Whether the mids of two of `count` paths are correlated in any low band, either way up. */
export const lowsResemble = ({ mid }: BandGram, one: number, other: number, count: number): boolean =>
  mid.slice(0, LOW_BANDS).some((products) => {
    const [own, its] = [products[pairIndex(one, one, count)]!, products[pairIndex(other, other, count)]!];
    return Math.abs(products[pairIndex(one, other, count)]!) > RESEMBLANCE * Math.sqrt(own * its);
  });
