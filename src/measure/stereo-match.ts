import type { Audio } from '../audio/audio.ts';
import { averagedSpectra, shiftedBy, type Spectra } from './cross-spectra.ts';
import { powerOf, sharedPowerOf } from './match.ts';

/** Two rows, left and right of the second sound, each made of left and right of the first. */
type Matrix = readonly [readonly [number, number], readonly [number, number]];

/**
 * Arrangements of the channels of a second stereo sound made from those of a first; one gain and polarity over both.
 */
const MATRICES = {
  same: [
    [1, 0],
    [0, 1],
  ],
  swapped: [
    [0, 1],
    [1, 0],
  ],
  'folded to mono': [
    [0.5, 0.5],
    [0.5, 0.5],
  ],
  'left on both sides': [
    [1, 0],
    [1, 0],
  ],
  'right on both sides': [
    [0, 1],
    [0, 1],
  ],
  'left only': [
    [1, 0],
    [0, 0],
  ],
  'right only': [
    [0, 0],
    [0, 1],
  ],
  'right inverted': [
    [1, 0],
    [0, -1],
  ],
  'left inverted': [
    [-1, 0],
    [0, 1],
  ],
  'swapped, right inverted': [
    [0, 1],
    [-1, 0],
  ],
  'swapped, left inverted': [
    [0, -1],
    [1, 0],
  ],
} as const satisfies Record<string, Matrix>;

export type Arrangement = keyof typeof MATRICES;

const ARRANGEMENTS = Object.keys(MATRICES) as Arrangement[];

/** Best match of a second stereo sound by a first at one lag, and the residual of both channels together. */
export interface StereoMatch {
  readonly arrangement: Arrangement;
  /** Gain of the second against the first so arranged, dB. */
  readonly gainDb: number;
  readonly polarity: 1 | -1;
  /** Energy of the second less the first so arranged, delayed and levelled, over that of the second, dB. */
  readonly arrangedResidualDb: number;
  /** The same with the sides as they are. */
  readonly residualDb: number;
}

/** Residual below this part of the second sound (-150 dB) is rounding. */
const NOTHING = 1e-15;

/** Another arrangement than the same must leave less than this part (-6 dB) of what the same leaves: sides that are nearly equal fit any. */
const CLEARLY = 0.25;

type Pairs = readonly [readonly [Spectra, Spectra], readonly [Spectra, Spectra]];

/** Energies of the two sides of the first, of their product and of the second, and of products of one's sides with the other's. */
interface Energies {
  readonly first: readonly [number, number];
  readonly product: number;
  readonly second: number;
  /** [side of the first][side of the second] */
  readonly shared: Matrix;
}

const energiesOf = (first: Audio, second: Audio, exactLag: number): Energies => {
  const whole = Math.round(exactLag);
  const [left, right] = first.channels.map((channel) => shiftedBy(channel, whole)) as [Float32Array, Float32Array];
  const row = (side: Float32Array): readonly [Spectra, Spectra] => [
    averagedSpectra(side, second.channels[0]!),
    averagedSpectra(side, second.channels[1]!),
  ];
  const pairs: Pairs = [row(left), row(right)];
  const sharedRow = ([one, other]: readonly [Spectra, Spectra]): readonly [number, number] => [
    sharedPowerOf(one, exactLag - whole),
    sharedPowerOf(other, exactLag - whole),
  ];
  return {
    first: [powerOf(pairs[0][0].first), powerOf(pairs[1][0].first)],
    product: sharedPowerOf(averagedSpectra(left, right), 0),
    second: powerOf(pairs[0][0].second) + powerOf(pairs[0][1].second),
    shared: [sharedRow(pairs[0]), sharedRow(pairs[1])],
  };
};

/** Gain that leaves least of the second, and the part of its energy that then is left. */
const fitOf = (arrangement: Arrangement, energies: Energies): { readonly gain: number; readonly left: number } => {
  const { first, product, second, shared } = energies;
  let [energy, common] = [0, 0];
  MATRICES[arrangement].forEach(([l, r], side) => {
    energy += l * l * first[0] + r * r * first[1] + 2 * l * r * product;
    common += l * shared[0][side]! + r * shared[1][side]!;
  });
  if (!(energy > NOTHING * (first[0] + first[1]))) return { gain: 0, left: 1 };
  return { gain: common / energy, left: Math.max(NOTHING, 1 - common ** 2 / energy / second) };
};

/**
 * How the sides of `second` are best made of those of `first` (both stereo, of one rate and sounding), when it is
 * `exactLag` samples late. Both sides count in every residual; the sides are called the same unless another arrangement
 * leaves clearly less. Of two arrangements that differ only in polarity, the one that needs none is told.
 */
export const stereoMatchOf = (first: Audio, second: Audio, exactLag: number): StereoMatch => {
  const energies = energiesOf(first, second, exactLag);
  const fits = ARRANGEMENTS.map((arrangement) => ({ arrangement, ...fitOf(arrangement, energies) }));
  const same = fits[0]!;
  const least = fits.reduce((best, fit) => (isBetter(fit, best) ? fit : best));
  const { arrangement, gain, left } = least.left < CLEARLY * same.left ? least : same;
  return {
    arrangement,
    gainDb: 20 * Math.log10(Math.abs(gain)),
    polarity: gain < 0 ? -1 : 1,
    arrangedResidualDb: 10 * Math.log10(left),
    residualDb: 10 * Math.log10(same.left),
  };
};

interface Fit {
  readonly gain: number;
  readonly left: number;
}

const isBetter = (fit: Fit, best: Fit): boolean =>
  fit.left < best.left || (fit.left === best.left && fit.gain > 0 && best.gain < 0);
