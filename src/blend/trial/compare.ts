import { framesOf, type Audio } from '../../audio/audio.ts';
import type { FigureChange } from '../../measure/change.ts';
import type { Measurement } from '../../measure/figures.ts';
import { matchOf } from '../../measure/match/match.ts';
import { measure } from '../../measure/measure.ts';
import { sideMatchesOf, type SideMatch, type SideMatches } from '../../measure/match/side-match.ts';
import {
  arrangedMatchOf,
  arrangementOf,
  CLEARLY,
  stereoMatchOf,
  type Arrangement,
  type StereoMatch,
} from '../../measure/match/stereo-match.ts';
import { longLagOf } from '../../measure/match/long-lag.ts';
import { matchedChangeOf, matchGainOf } from '../../measure/levelled.ts';

/** Result of comparing two sounds, aligned in time and level. */
export interface Comparison {
  /** Samples by which the second is late; null when the two share too little to say. */
  readonly lagSamples: number | null;
  /** The same with parts of a sample. */
  readonly exactLagSamples: number | null;
  /** Which channels of the first, in which polarity, the channels of the second consist of; null as above. */
  readonly arrangement: Arrangement | null;
  /** Gain of the second relative to the first with its channels so arranged, over the sound that both share, dB. */
  readonly gainDb: number | null;
  readonly polarity: 1 | -1;
  /** Residual: the second less the first delayed and scaled, channels as they are, dB below the second. */
  readonly residualDb: number | null;
  /** The same with the channels arranged. */
  readonly arrangedResidualDb: number | null;
  /** Each side by itself, where one lag and one gain for both leave clearly more; its lags are against the first. Else null. */
  readonly sides: SideMatches['sides'] | null;
  /** Residual with each side so delayed and scaled, dB below the second; null without `sides`. */
  readonly sidesResidualDb: number | null;
  /** Gain, dB, that brings the second to the integrated loudness of the first; null where one has none. */
  readonly matchGainDb: number | null;
  /** Number of frames in which both overlap once aligned: `a` and `b` are measured over these. */
  readonly frames: number;
  readonly a: Measurement;
  readonly b: Measurement;
  /** The second less the first, the second brought to the loudness of the first. */
  readonly change: FigureChange;
}

const midOf = ({ channels }: Audio): Float32Array => {
  const [left, right] = channels as [Float32Array, Float32Array];
  return left.map((sample, n) => (sample + right[n]!) / 2);
};

const cut = ({ sampleRate, channels }: Audio, from: number, frames: number): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(from, from + frames)),
});

/** The overlapping part of each sound, when the second is `lag` samples late. */
const common = (a: Audio, b: Audio, lag: number): readonly [Audio, Audio] => {
  const [fromA, fromB] = [Math.max(0, -lag), Math.max(0, lag)];
  const frames = Math.max(0, Math.min(framesOf(a) - fromA, framesOf(b) - fromB));
  return [cut(a, fromA, frames), cut(b, fromB, frames)];
};

/** The match of the two sounds, its lag in whole samples, and the whole lag by which they were aligned before matching. */
interface Laid extends StereoMatch {
  readonly lagSamples: number;
  readonly coarse: number;
  readonly sides: SideMatches | null;
}

/** Lag of a match between sounds that were first aligned by `coarse` samples. */
const laidAt = (coarse: number, match: StereoMatch, sides: SideMatches | null): Laid => {
  const exactLagSamples = coarse + match.exactLagSamples;
  // Not -0.
  return { ...match, exactLagSamples, lagSamples: Math.round(exactLagSamples) + 0, coarse, sides };
};

/** One channel of each sound, or the mono sum, from which a lag is measured. */
type Pair = readonly [Float32Array, Float32Array];

const laidBy = (first: Audio, second: Audio, [one, other]: Pair): Laid | null => {
  const coarse = longLagOf(one, other, first.sampleRate);
  const [fromOne, fromOther] = [Math.max(0, -coarse), Math.max(0, coarse)];
  const frames = Math.min(one.length - fromOne, other.length - fromOther);
  if (frames <= 0) return null;
  const match = matchOf(one.subarray(fromOne, fromOne + frames), other.subarray(fromOther, fromOther + frames));
  if (!match) return null;
  return laidAt(coarse, stereoMatchOf(...common(first, second, coarse), match.exactLagSamples), null);
};

/** A lag that leaves a residual below this (dB relative to the second) is accepted. */
const CERTAIN = -10;

/**
 * Match of the second sound with the first: at the lag of their mono sums, or if that leaves a large residual, at the
 * lag between single channels that leaves the smallest one. (An inverted channel changes the mono sum.) null if no lag can
 * be found.
 */
const laidOf = (first: Audio, second: Audio): Laid | null => {
  let best = laidBy(first, second, [midOf(first), midOf(second)]);
  for (const one of first.channels) {
    for (const other of second.channels) {
      if (best && best.arrangedResidualDb < CERTAIN) return best;
      const laid = laidBy(first, second, [one, other]);
      if (laid && laid.arrangedResidualDb < (best?.arrangedResidualDb ?? 0)) best = laid;
    }
  }
  return best;
};

const partLeft = (db: number): number => 10 ** (db / 10);

/** The same, with a match for each side where left and right differ in lag or level; the lag of the whole is then that of the left, or of the only side that sounds. */
const laidBySides = (first: Audio, second: Audio, laid: Laid): Laid => {
  const [a, b] = common(first, second, laid.coarse);
  const each = sideMatchesOf(a, b);
  if (!each || partLeft(each.residualDb) >= CLEARLY * partLeft(laid.arrangedResidualDb)) return laid;
  const { exactLagSamples } = (each.sides[0] ?? each.sides[1])!;
  const arrangement = arrangementOf(each.sides) ?? laid.arrangement;
  return laidAt(laid.coarse, arrangedMatchOf(a, b, exactLagSamples, arrangement), each);
};

/** Lags against the first as it was given. */
const inSong = ([left, right]: SideMatches['sides'], coarse: number): SideMatches['sides'] => {
  const moved = (side: SideMatch | null): SideMatch | null =>
    side && { ...side, exactLagSamples: coarse + side.exactLagSamples };
  return [moved(left), moved(right)];
};

/** Sides are matched separately where one lag and gain for both leave a residual above this (dB relative to the second). */
const EXPLAINED = -60;

/**
 * Aligns the second stereo sound with the first at any lag, gain, polarity and arrangement of channels, matches
 * their loudness over the part where they overlap, and measures the changes. Both of one sample rate.
 */
export const compareSounds = (first: Audio, second: Audio): Comparison => {
  const both = laidOf(first, second);
  const laid = both && both.arrangedResidualDb > EXPLAINED ? laidBySides(first, second, both) : both;
  const [alignedA, alignedB] = common(first, second, laid?.lagSamples ?? 0);
  const [a, b] = [measure(alignedA), measure(alignedB)];
  return {
    lagSamples: laid?.lagSamples ?? null,
    exactLagSamples: laid?.exactLagSamples ?? null,
    arrangement: laid?.arrangement ?? null,
    gainDb: laid?.gainDb ?? null,
    polarity: laid?.polarity ?? 1,
    residualDb: laid?.residualDb ?? null,
    arrangedResidualDb: laid?.arrangedResidualDb ?? null,
    sides: laid?.sides ? inSong(laid.sides.sides, laid.coarse) : null,
    sidesResidualDb: laid?.sides?.residualDb ?? null,
    matchGainDb: matchGainOf(a, b),
    frames: framesOf(alignedA),
    a,
    b,
    change: matchedChangeOf(a, b),
  };
};
