import type { Audio } from '../../audio/audio.ts';
import { averagedSpectra, shiftedBy, type Spectra } from './cross-spectra.ts';
import { greatestAt } from '../peaks/greatest-at.ts';
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

/** Best match of a second stereo sound by a first, one lag and one gain for both sides. */
export interface StereoMatch {
  readonly arrangement: Arrangement;
  /** How late the second is, samples and parts of one. */
  readonly exactLagSamples: number;
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
export const CLEARLY = 0.25;

type Pairs = readonly [readonly [Spectra, Spectra], readonly [Spectra, Spectra]];

/** Averaged spectra of two stereo sounds, the first moved by whole samples. */
interface Averaged {
  /** Energies of the two sides of the first, of their product and of the second. */
  readonly first: readonly [number, number];
  readonly product: number;
  readonly second: number;
  /** [side of the first][side of the second] */
  readonly pairs: Pairs;
}

const averagedOf = (first: Audio, second: Audio, whole: number): Averaged => {
  const [left, right] = first.channels.map((channel) => shiftedBy(channel, whole)) as [Float32Array, Float32Array];
  const row = (side: Float32Array): readonly [Spectra, Spectra] => [
    averagedSpectra(side, second.channels[0]!),
    averagedSpectra(side, second.channels[1]!),
  ];
  const pairs: Pairs = [row(left), row(right)];
  return {
    first: [powerOf(pairs[0][0].first), powerOf(pairs[1][0].first)],
    product: sharedPowerOf(averagedSpectra(left, right), 0),
    second: powerOf(pairs[0][0].second) + powerOf(pairs[0][1].second),
    pairs,
  };
};

/** Energy of the first so arranged. */
const energyOf = (arrangement: Arrangement, { first, product }: Averaged): number =>
  MATRICES[arrangement].reduce((sum, [l, r]) => sum + l * l * first[0] + r * r * first[1] + 2 * l * r * product, 0);

/** Energy that the second shares with the first so arranged and `part` of a sample late. */
const commonOf = (arrangement: Arrangement, { pairs }: Averaged, part: number): number =>
  MATRICES[arrangement].reduce(
    (sum, row, side) =>
      row.reduce(
        (all, weight, of) => (weight === 0 ? all : all + weight * sharedPowerOf(pairs[of]![side]!, part)),
        sum,
      ),
    0,
  );

interface Fit {
  readonly arrangement: Arrangement;
  /** Beyond the whole lag, samples. */
  readonly part: number;
  readonly gain: number;
  /** Part of the second's energy that is left. */
  readonly left: number;
}

/** The gain that leaves least of the second. */
const fitOf = (arrangement: Arrangement, averaged: Averaged, part: number): Fit => {
  const energy = energyOf(arrangement, averaged);
  if (!(energy > NOTHING * (averaged.first[0] + averaged.first[1]))) return { arrangement, part, gain: 0, left: 1 };
  const common = commonOf(arrangement, averaged, part);
  return {
    arrangement,
    part,
    gain: common / energy,
    left: Math.max(NOTHING, 1 - common ** 2 / energy / averaged.second),
  };
};

const isBetter = (fit: Fit, best: Fit): boolean =>
  fit.left < best.left || (fit.left === best.left && fit.gain > 0 && best.gain < 0);

/**
 * The same arrangement at the lag, within one sample, with the smallest residual: the lag was measured on mono sums or single sides,
 * which other common sound of the sides shifts by a fraction of a sample. A whole lag is kept where its residual is no larger.
 */
const refined = (fit: Fit, averaged: Averaged): Fit => {
  const sign = Math.sign(fit.gain);
  const part = greatestAt((each) => sign * commonOf(fit.arrangement, averaged, each), -1, 1);
  return [fitOf(fit.arrangement, averaged, 0), fit].reduce(
    (best, each) => (isBetter(best, each) ? best : each),
    fitOf(fit.arrangement, averaged, part),
  );
};

const matchFrom = ({ arrangement, part, gain, left }: Fit, averaged: Averaged, whole: number): StereoMatch => ({
  arrangement,
  exactLagSamples: whole + part,
  gainDb: 20 * Math.log10(Math.abs(gain)),
  polarity: gain < 0 ? -1 : 1,
  arrangedResidualDb: 10 * Math.log10(left),
  residualDb: 10 * Math.log10(fitOf('same', averaged, part).left),
});

/**
 * How the sides of `second` are best made of those of `first` (both stereo, of one rate and sounding), when it is about
 * `exactLag` samples late. Both sides count in every residual; the sides are called the same unless another arrangement
 * leaves clearly less. Of two arrangements that differ only in polarity, the one without inversion is given.
 */
export const stereoMatchOf = (first: Audio, second: Audio, exactLag: number): StereoMatch => {
  const whole = Math.round(exactLag);
  const averaged = averagedOf(first, second, whole);
  const fits = ARRANGEMENTS.map((arrangement) => fitOf(arrangement, averaged, exactLag - whole));
  const same = fits[0]!;
  const least = fits.reduce((best, fit) => (isBetter(fit, best) ? fit : best));
  return matchFrom(refined(least.left < CLEARLY * same.left ? least : same, averaged), averaged, whole);
};

/** The match with this arrangement, at exactly this lag. */
export const arrangedMatchOf = (
  first: Audio,
  second: Audio,
  exactLag: number,
  arrangement: Arrangement,
): StereoMatch => {
  const whole = Math.round(exactLag);
  const averaged = averagedOf(first, second, whole);
  return matchFrom(fitOf(arrangement, averaged, exactLag - whole), averaged, whole);
};

/** The source of one side of the second, and its polarity; null: silence. */
export type SideSource = { readonly from: 'left' | 'right' | 'mono'; readonly polarity: 1 | -1 } | null;

const sourceOf = ([l, r]: readonly [number, number]): SideSource => {
  if (l === 0 && r === 0) return null;
  const polarity = l + r < 0 ? -1 : 1;
  if (l !== 0 && r !== 0) return { from: 'mono', polarity };
  return { from: l === 0 ? 'right' : 'left', polarity };
};

const isSource = (one: SideSource, other: SideSource, turn: 1 | -1): boolean =>
  one && other ? one.from === other.from && one.polarity === turn * other.polarity : one === other;

/** The arrangement with these sources of its sides, in this or in opposite polarity; null: none. */
export const arrangementOf = (sides: readonly SideSource[]): Arrangement | null =>
  ([1, -1] as const)
    .flatMap((turn) =>
      ARRANGEMENTS.filter((name) => MATRICES[name].every((row, side) => isSource(sourceOf(row), sides[side]!, turn))),
    )
    .at(0) ?? null;
