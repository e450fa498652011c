import type { Audio } from '../../audio/audio.ts';
import { doublingOf } from '../../measure/doubling.ts';

/** How a path lies against the sound that it doubles. */
export interface PathAlignment {
  /** Ids of the paths that it was held against; empty when it doubles nothing. */
  readonly against: readonly string[];
  /** Whole samples by which it is late; null when it doubles nothing, or no single lag tells how it lies. */
  readonly lagSamples: number | null;
  readonly polarity: 1 | -1;
  /** Mean coherence with what it doubles, 0..1; null as the lag. */
  readonly coherence: number | null;
  /** True when its filters turn the phase so far that the two meet out of step somewhere they both sound. */
  readonly turnsPhase: boolean;
}

/** Of a path that doubles nothing, or whose lag cannot be told. */
export const NO_ALIGNMENT: PathAlignment = {
  against: [],
  lagSamples: null,
  polarity: 1,
  coherence: null,
  turnsPhase: false,
};

/** Mid of one or several stereo sounds, summed. */
const midOf = (sounds: readonly Audio[]): Float32Array => {
  const mid = new Float32Array(sounds[0]?.channels[0]?.length ?? 0);
  for (const { channels } of sounds) {
    const left = channels[0]!;
    const right = channels[1]!;
    for (let n = 0; n < mid.length; n++) mid[n]! += (left[n]! + right[n]!) / 2;
  }
  return mid;
};

/** A path with less than this of its energy in the middle has no mid to lie early or late with. */
const LEAST_MID = 0.01;

const hasMid = ({ channels }: Audio, mid: Float32Array): boolean => {
  const left = channels[0]!;
  const right = channels[1]!;
  let middle = 0;
  let whole = 0;
  for (let n = 0; n < mid.length; n++) {
    middle += 2 * mid[n]! * mid[n]!;
    whole += left[n]! * left[n]! + right[n]! * right[n]!;
  }
  return middle > LEAST_MID * whole;
};

/** A rendered path: stereo, all of one rate and length. */
export interface AlignedPath {
  readonly id: string;
  readonly audio: Audio;
}

/** Alignment of a path against the sum of what it doubles. */
export const pathAlignment = ({ audio }: AlignedPath, doubled: readonly AlignedPath[]): PathAlignment => {
  if (doubled.length === 0) return NO_ALIGNMENT;
  const mid = midOf([audio]);
  const found = hasMid(audio, mid) ? doublingOf(midOf(doubled.map((each) => each.audio)), mid) : null;
  if (!found) return NO_ALIGNMENT;
  const { lagSamples, polarity, coherence, turnsPhase } = found;
  return { against: doubled.map(({ id }) => id), lagSamples, polarity, coherence, turnsPhase };
};

/** Coherence from which two paths that nothing in the session joins are taken for one sound twice. */
const LEAST_TWIN = 0.5;

/**
 * Alignment of a path that the session makes of no other, but that may be the print of a parallel bus: against that of
 * `others` which it has most in common with. Takes some 50 ms for each of them.
 */
export const twinAlignment = (path: AlignedPath, others: readonly AlignedPath[]): PathAlignment =>
  others
    .map((other) => pathAlignment(path, [other]))
    .filter(({ coherence }) => coherence !== null && coherence >= LEAST_TWIN)
    .reduce((best, each) => ((each.coherence ?? 0) > (best.coherence ?? 0) ? each : best), NO_ALIGNMENT);

/** The path that is one sound with another one, whichever of the two was held against the other, and by how much. */
const heardTwinOf = (
  id: string,
  alignments: ReadonlyMap<string, PathAlignment>,
  isHeard: (id: string) => boolean,
): { readonly id: string; readonly lag: number; readonly polarity: 1 | -1 } | null => {
  const own = alignments.get(id);
  const [first] = own?.against ?? [];
  if (first !== undefined && isHeard(first)) return { id: first, lag: own!.lagSamples!, polarity: own!.polarity };
  for (const [other, { against, lagSamples, polarity }] of alignments) {
    const isTwin = against.length === 1 && against[0] === id && isHeard(other);
    if (isTwin && lagSamples !== null) return { id: other, lag: -lagSamples, polarity };
  }
  return null;
};

/**
 * How a bus lies in a blend: where all that feeds it is shut (a copy of a track that stands there for the bus alone),
 * nothing is heard that it could be late against but the twins of what feeds it. `groups` are the twin alignments of
 * the groups by their ids, `isHeard` tells whether a path sounds. As it was where there are no such twins.
 */
export const heardAlignment = (
  alignment: PathAlignment,
  groups: ReadonlyMap<string, PathAlignment>,
  isHeard: (id: string) => boolean,
): PathAlignment => {
  if (alignment.lagSamples === null || alignment.against.some(isHeard)) return alignment;
  const twins = alignment.against.map((id) => heardTwinOf(id, groups, isHeard));
  const [first] = twins;
  const isOne = first && twins.every((twin) => twin?.lag === first.lag && twin.polarity === first.polarity);
  if (!isOne) return alignment;
  return {
    ...alignment,
    against: twins.map((twin) => twin!.id),
    lagSamples: alignment.lagSamples + first.lag,
    polarity: alignment.polarity === first.polarity ? 1 : -1,
  };
};
