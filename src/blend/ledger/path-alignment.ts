import { framesOf, stretchOf, type Sound } from '../../audio/audio.ts';
import { STRETCH } from '../../audio/samples.ts';
import { DIRECT, farthest, isLike, type Doubled, type WayArrival } from '../../dsp/core/arrival.ts';
import { alignmentOf, LEAST_EXPLAINED } from '../../measure/match/alignment.ts';
import { maybeAlike } from '../gram/band-gram.ts';
import type { GramQuery, QueryPath } from '../gram/make-blend-query.ts';

/** Delay and polarity of a path relative to the sound that it doubles. */
export interface PathAlignment {
  /** Ids of the paths that it is compared with; empty if it doubles nothing. */
  readonly against: readonly string[];
  /** Samples by which it is late; null when it doubles nothing, or comes spread over time. */
  readonly lagSamples: number | null;
  readonly polarity: 1 | -1;
  /** Of a steady tone: so many samples earlier or later it fits as well. Absent: no other lag is as good. */
  readonly repeats?: number;
  /** Labels of the processors that make it late, spread or inverted. */
  readonly by: readonly string[];
}

/** Alignment of a path that doubles nothing. */
export const NO_ALIGNMENT: PathAlignment = { against: [], lagSamples: null, polarity: 1, by: [] };

/** Alignment of a bus, from the settings of its chains; of several feeds, the one with the largest delay. */
export const busAlignment = (doubles: readonly Doubled[]): PathAlignment => {
  if (doubles.length === 0) return NO_ALIGNMENT;
  const far = farthest(doubles);
  const { lagSamples, polarity, by } = far;
  return { against: doubles.filter((each) => isLike(each, far)).map(({ id }) => id), lagSamples, polarity, by };
};

/** A group whose tracks hold one sound with those of another group: a copy, or the print of a parallel bus. */
export interface Twin {
  /** Id of the other group. */
  readonly of: string;
  /** Samples by which it is late as received, to a hundredth. */
  readonly lagSamples: number;
  readonly polarity: 1 | -1;
  /** As in `Alignment`. */
  readonly repeats?: number;
}

/** A path with less than this part of its energy in the mid signal cannot be aligned by its mid. */
const LEAST_MID = 0.01;

/** The mid of a stereo sound; null where it has next to none. */
const midIn = (sound: Sound): Float32Array | null => {
  const mid = new Float32Array(framesOf(sound));
  let [energy, ofMid] = [0, 0];
  for (let from = 0; from < mid.length; from += STRETCH) {
    const [left, right] = stretchOf(sound, from, Math.min(mid.length, from + STRETCH)).channels as [
      Float32Array,
      Float32Array,
    ];
    for (let n = 0; n < left.length; n++) {
      const value = (left[n]! + right[n]!) / 2;
      mid[from + n] = value;
      energy += left[n]! ** 2 + right[n]! ** 2;
      ofMid += value ** 2;
    }
  }
  return 2 * ofMid > LEAST_MID * energy ? mid : null;
};

/** Coherence, 0..1, from which two groups that are not connected in the session count as the same sound. */
const LEAST_TWIN = 0.5;

/**
 * The groups as received that are one sound with one before them, by their ids; of several, that which they have most in
 * common with. They stand from place `from` on in `query`. Each step yields the part done, 0..1; one takes up to half a
 * second where two resemble each other. What chains do to them is not in it, so that no edit of a chain moves it.
 */
export function* twinSteps(
  groups: readonly QueryPath[],
  { bands, ids }: Pick<GramQuery, 'bands' | 'ids'>,
  from: number,
): Generator<number, ReadonlyMap<string, Twin>> {
  const twins = new Map<string, Twin>();
  for (const [n, { id, audio }] of groups.entries()) {
    let most = 0;
    for (const [m, other] of groups.slice(0, n).entries()) {
      if (!maybeAlike(bands, from + n, from + m, ids.length)) continue;
      const [mid, its] = [midIn(audio), midIn(other.audio)];
      const found = mid && its ? alignmentOf(its, mid) : null;
      yield (n + m / n) / groups.length;
      if (!found || found.explained < LEAST_EXPLAINED || found.coherence < Math.max(LEAST_TWIN, most)) continue;
      most = found.coherence;
      const { lagSamples, polarity, repeats } = found;
      twins.set(id, { of: other.id, lagSamples, polarity, ...(repeats !== undefined && { repeats }) });
    }
  }
  return twins;
}

/** Of a group that has a twin: as received, and by how much later its chains let it through than the other's. */
export const twinAlignment = (
  id: string,
  twins: ReadonlyMap<string, Twin>,
  arrivalOf: (id: string) => WayArrival,
): PathAlignment => {
  const twin = twins.get(id);
  if (!twin) return NO_ALIGNMENT;
  const [own, its] = [arrivalOf(id), arrivalOf(twin.of)];
  if (own.lagSamples === null || its.lagSamples === null) return NO_ALIGNMENT;
  const isUpright = twin.polarity * own.polarity * its.polarity === 1;
  return {
    against: [twin.of],
    lagSamples: Math.round(100 * (twin.lagSamples + own.lagSamples - its.lagSamples)) / 100,
    polarity: isUpright ? 1 : -1,
    ...(twin.repeats !== undefined && { repeats: twin.repeats }),
    by: own.by,
  };
};

/**
 * The path that holds the same sound as this one, whichever of the two was compared with the other, and the delay
 * between them.
 */
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
 * How a bus lies in a blend: where all that feeds it is closed (a copy of a track that stands there for the bus alone),
 * nothing is heard that it could be late against but the twins of what feeds it. `groups` are the alignments of the
 * groups by their ids, `isHeard` tells whether a path sounds. As it was where there are no such twins.
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

/** What the alignment of a path is computed from. */
interface Placed {
  readonly id: string;
  readonly doubles: readonly Doubled[];
  readonly arrival: WayArrival;
}

/** Alignments of all paths, in their order, in a blend in which the paths with `isHeard` true sound. */
export const alignmentsOf = (
  paths: readonly Placed[],
  twins: ReadonlyMap<string, Twin>,
  isHeard: (id: string) => boolean,
): PathAlignment[] => {
  const arrivals = new Map(paths.map(({ id, arrival }) => [id, arrival]));
  const arrivalOf = (id: string): WayArrival => arrivals.get(id) ?? DIRECT;
  const groups = new Map(
    paths.flatMap(({ id, doubles }) => (doubles.length > 0 ? [] : [[id, twinAlignment(id, twins, arrivalOf)]])),
  );
  return paths.map(({ id, doubles }) => groups.get(id) ?? heardAlignment(busAlignment(doubles), groups, isHeard));
};
