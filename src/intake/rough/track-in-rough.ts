import { decibelsOf } from '../../audio/decibels.ts';
import { haveEqualValues } from '../../audio/samples.ts';
import type { Certainty } from './certainty.ts';
import type { Fit } from './fit-balance.ts';
import { onSides, type RoughProblem } from './model.ts';
import { placeOf, placeOfGains, type Place } from './place.ts';
import { blockSeconds } from './sketch-plan.ts';

/** A track's level over one stretch of the song. */
export interface LevelStretch {
  readonly startSeconds: number;
  readonly endSeconds: number;
  /** Track to rough, all included, dB. */
  readonly gainDb: number;
}

/** How one track stands in the rough. */
export interface TrackInRough {
  /** Track to rough, all included, dB: of the longest stretch at one level. null: not in the rough, or not to be told. */
  readonly gainDb: number | null;
  /** -1 left .. +1 right; null as above. */
  readonly pan: number | null;
  readonly law: Place['law'];
  /** Its channels are swapped in the rough; gain and pan are those of it with its channels swapped. */
  readonly isSwapped: boolean;
  /** -1: the rough holds the track with inverted polarity. */
  readonly polarity: 1 | -1;
  /** How probable it is, by what is left unexplained, that the level is right within half a dB: 0..1. */
  readonly confidence: number;
  /** Standard error of the level, dB. */
  readonly errorDb: number | null;
  /** Standard error of the pan, -1..1. */
  readonly panError: number | null;
  readonly isInRough: boolean;
  /** Samples by which the rough has it later than its file does; negative: earlier. */
  readonly shiftSamples: number;
  /** Level over time; one stretch where it does not move. */
  readonly levels: readonly LevelStretch[];
  /** Places of the tracks from which it cannot be told. */
  readonly twins: readonly number[];
  /** Level and place of it and those tracks together, as if this one alone carried it. */
  readonly together: { readonly gainDb: number; readonly pan: number } | null;
}

/** Error function (Abramowitz and Stegun 7.1.26, within 2e-7; from memory). */
const erf = (x: number): number => {
  const t = 1 / (1 + 0.3275911 * x);
  const sum = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  return 1 - sum * Math.exp(-x * x);
};

/** dB within which a level is right. */
const RIGHT_WITHIN = 0.5;
/** Uncertain by chance by more than this part, a level says nothing of the track being there at all. */
const MOST_ERROR = 0.33;

/** Whether the rough is one channel, or two that are the same to the bit. */
export const isSameOnBothSides = ([left, right]: RoughProblem['rough']): boolean =>
  left === right || haveEqualValues(left, right);

/** How track `track` stands in the rough; `isThere` where its sound is not lost below the rest. */
export const trackInRough = (
  problem: RoughProblem,
  fit: Fit,
  certainties: readonly Certainty[],
  track: number,
  isThere: boolean,
): Omit<TrackInRough, 'shiftSamples'> => {
  const { plan, sources, rough } = problem;
  const { error, chance, panError, twins } = certainties[track]!;
  const none = {
    ...({ gainDb: null, pan: null, law: 'pan', isSwapped: false, polarity: 1 } as const),
    ...{ errorDb: null, panError: null, levels: [], together: null },
  };
  if (twins.length > 0) {
    return { ...none, confidence: 0, isInRough: true, twins, together: togetherOf(problem, fit, [track, ...twins]) };
  }
  const place = isThere ? placeOf(sources, fit.model, track, isSameOnBothSides(rough)) : null;
  if (!place || chance > MOST_ERROR) {
    return { ...none, confidence: 0, isInRough: false, twins: [] };
  }
  const errorDb = decibelsOf(1 + error);
  const gainDb = decibelsOf(place.gain);
  const seconds = blockSeconds(plan);
  return {
    gainDb,
    pan: Math.max(-1, Math.min(1, place.pan)),
    law: place.law,
    isSwapped: place.isSwapped,
    polarity: fit.model.levels[track]! < 0 ? -1 : 1,
    confidence: erf(RIGHT_WITHIN / Math.max(1e-6, errorDb) / Math.SQRT2),
    errorDb,
    panError,
    isInRough: true,
    levels: fit.stretches[track]!.map(({ from, to, value }) => ({
      startSeconds: from * seconds,
      endSeconds: to * seconds,
      gainDb: gainDb + decibelsOf(value),
    })),
    twins: [],
    together: null,
  };
};

/** Near-identical tracks add up: the sum of their gains in each side, in the level of the first. */
const togetherOf = ({ sources }: RoughProblem, { model }: Fit, tracks: readonly number[]): TrackInRough['together'] => {
  const [left, right] = onSides((side) => {
    let sum = 0;
    sources.all.forEach((source, i) => {
      const isOwn = tracks.includes(source.track) && source.side !== (side === 0 ? 'right' : 'left');
      if (isOwn) sum += model.gains[side][i]!;
    });
    return sum;
  });
  if (left === 0 && right === 0) return null;
  const { gain, pan } = placeOfGains(left, right);
  return { gainDb: decibelsOf(gain), pan };
};
