import { isSilent } from '../../audio/silence.ts';
import type { BandSums, BinStretch } from '../../measure/third-octaves.ts';
import { binStretches, thirdOctavesBelow } from '../../measure/third-octaves.ts';
import type { Spectrum } from '../../measure/spectrum.ts';
import { Kernels } from '../../measure/kernels/kernels.ts';
import { productRoom, Products, type Rows } from './dots.ts';
import { pairCount, pairIndex, pairPlaces, pairsFrom, quadratic, rowsOf, takePairs, type Places } from './pairs.ts';
import type { FrameLayout, Spectra } from './path-spectra.ts';

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

/** Spectrum elements per path that are copied into working memory at once: the most that one sum of products covers. */
const PIECE = 4096;
const TILE = 1024;

/**
 * A run of spectrum elements whose products are added to one matrix (of one band), each times `weight`, so that squares
 * become mean power.
 */
interface Tile {
  readonly from: number;
  readonly to: number;
  readonly weight: number;
  readonly sums: Float64Array;
}

/** Elements copied into working memory together, and the tiles that they hold. */
interface Piece {
  readonly from: number;
  readonly to: number;
  readonly tiles: readonly Tile[];
}

/** The tiles of a spectrum whose first element is `start`, of some of its bins; `last` is the last bin that it has. */
const tilesOf = (
  { from, to, weight }: Omit<BinStretch, 'band'>,
  start: number,
  last: number,
  sums: Float64Array,
): readonly Tile[] => {
  const tiles: Tile[] = [];
  for (let bin = from; bin < to;) {
    // The first and last bin stand for one sign of frequency, all others for both.
    const single = bin === 0 || bin === last;
    const whole = Math.floor((2 * bin) / TILE + 1) * (TILE / 2);
    const end = single ? bin + 1 : Math.min(to, last, whole);
    tiles.push({ from: start + 2 * bin, to: start + 2 * end, weight: weight * (single ? 1 : 2), sums });
    bin = end;
  }
  return tiles;
};

/** The tiles of a spectrum from element `start` to `end`, piece by piece. */
const piecesOf = (start: number, end: number, tiles: readonly Tile[]): readonly Piece[] =>
  Array.from({ length: Math.ceil((end - start) / PIECE) }, (_, n) => {
    const from = start + n * PIECE;
    const to = Math.min(end, from + PIECE);
    return { from, to, tiles: tiles.filter((tile) => tile.from >= from && tile.from < to) };
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

/**
 * The pieces in which one frame of the paths is processed; `scale` converts squared magnitudes of the transform into mean power.
 */
const planOf = (layout: FrameLayout, scale: number, sampleRate: number, sums: Sums): readonly Piece[] => {
  const last = layout.size / 2;
  const stretches = binStretches(last, sampleRate);
  const lows = { from: 0, to: layout.lows, weight: scale };
  const part = (start: number, bands: readonly Float64Array[], low: Float64Array): readonly Piece[] =>
    piecesOf(start, start + 2 * layout.bins, [
      ...stretches.flatMap(({ band, from, to, weight }) =>
        tilesOf({ from, to, weight: weight * scale }, start, last, bands[band]!),
      ),
      ...tilesOf(lows, start, last, low),
    ]);
  const low = (start: number, into: Float64Array): readonly Piece[] =>
    piecesOf(start, start + 2 * layout.lows, tilesOf(lows, start, last, into));
  return [
    ...part(layout.mid, sums.mid, sums.lowMid),
    ...part(layout.side, sums.side, sums.lowSide),
    ...low(layout.lowLeft, sums.lowLeft),
    ...low(layout.lowRight, sums.lowRight),
  ];
};

/**
 * Cross-spectra from the spectra of the paths (paths x frames), step by step; each step yields the part done, 0..1.
 * @param length frames of the sound itself
 * With `changed`, all but the pairs of these paths are taken over from `before`.
 */
export function* bandGramSteps(
  spectra: readonly Spectra[],
  layout: FrameLayout,
  sampleRate: number,
  length: number,
  changed: readonly number[] | null = null,
  before: BandGram | null = null,
): Generator<number, BandGram> {
  const rows = rowsOf(spectra.length, changed);
  const bands = thirdOctavesBelow(sampleRate).length + 1;
  const kernels = Kernels.withRoom(productRoom(rows.count, 4 * PIECE, 2 * bands + 4));
  const products = new Products(rows, PIECE, 'single', kernels);
  const fresh = (): Float64Array[] => Array.from({ length: bands }, () => products.matrix());
  const sums: Sums = {
    mid: fresh(),
    side: fresh(),
    lowLeft: products.matrix(),
    lowRight: products.matrix(),
    lowMid: products.matrix(),
    lowSide: products.matrix(),
  };
  const plan = planOf(layout, 1 / (layout.size * length), sampleRate, sums);
  const count = spectra[0]?.length ?? 0;
  for (let n = 0; n < count; n++) {
    const frames = spectra.map((path) => path.at(n)!);
    // Silence in all paths adds nothing.
    const heard = frames.some((frame) => !isSilent(frame));
    for (const { from, to, tiles } of heard ? plan : []) {
      products.vectors.forEach((vector, p) => (vector as Float32Array).set(frames[p]!.subarray(from, to)));
      for (const tile of tiles) products.add(tile.from - from, tile.to - from, tile.weight, tile.sums);
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

/** The products of `count` paths in a new order, some removed or added; products of added paths are 0. */
export const arrangedBands = (bands: BandGram, places: Places, count: number): BandGram => {
  const from = pairPlaces(places, count);
  const moved = (values: Float64Array): Float64Array => pairsFrom(values, from);
  const { lows } = bands;
  return {
    sampleRate: bands.sampleRate,
    mid: bands.mid.map(moved),
    side: bands.side.map(moved),
    wholeMid: moved(bands.wholeMid),
    wholeSide: moved(bands.wholeSide),
    lows: { left: moved(lows.left), right: moved(lows.right), cross: moved(lows.cross) },
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

/**
 * Number of the lowest third octaves (25 to 250 Hz) compared: in these a copy that is a few milliseconds late is still
 * nearly in phase.
 */
const LOW_BANDS = 11;

/**
 * Correlation in such a band, 0..1, from which two paths may hold the same sound; over a whole song, different sounds
 * stay below it.
 */
const RESEMBLANCE = 0.3;

/** A path whose lows hold less than this part of its energy (-30 dB) is not compared by them: cymbals and shakers have little but noise there. */
const LEAST_LOWS = 1e-3;

/** Whether the low bands hold less than NO_LOWS of the mid's energy. */
const isWithoutLows = ({ mid }: BandGram, place: number, count: number): boolean => {
  const energies = mid.map((products) => products[pairIndex(place, place, count)]!);
  const sum = (values: readonly number[]): number => values.reduce((total, each) => total + each, 0);
  return sum(energies.slice(0, LOW_BANDS)) < LEAST_LOWS * sum(energies);
};

/** Whether the mids of two of `count` paths may be the same sound: correlated in any low band, in either polarity, or both without lows. */
export const maybeAlike = (gram: BandGram, one: number, other: number, count: number): boolean =>
  (isWithoutLows(gram, one, count) && isWithoutLows(gram, other, count)) ||
  gram.mid.slice(0, LOW_BANDS).some((products) => {
    const [own, its] = [products[pairIndex(one, one, count)]!, products[pairIndex(other, other, count)]!];
    return Math.abs(products[pairIndex(one, other, count)]!) > RESEMBLANCE * Math.sqrt(own * its);
  });
