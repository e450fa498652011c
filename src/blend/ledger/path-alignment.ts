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
  /** Samples by which it is late; null when it doubles nothing, or has no single delay. */
  readonly lagSamples: number | null;
  readonly polarity: 1 | -1;
  /** For a steady tone: its period, samples, after which it fits equally well. Absent: no other lag is as good. */
  readonly repeats?: number;
  /** Labels of the processors that delay, spread or invert it. */
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

/** The mid of a stereo sound; null where its energy is below LEAST_MID of the whole. */
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
 * The groups as received that hold the same sound as an earlier group, by their ids; of several candidates, the most
 * coherent one. In `query` they begin at index `from`. Each step yields the part done, 0..1; one takes up to half a
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

/** Alignment of a group with its twin: their lag as received, plus the difference of their chains' delays. */
const twinAlignment = (
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
 * Alignment of a bus in a blend. Where all that feeds it is closed (for example a copy of a track that only feeds the bus),
 * it is compared with the twins of its feeds, as nothing else that it doubles is heard. `groups` are the alignments of the
 * groups by their ids, `isHeard` says whether a path sounds. Unchanged where there are no such twins.
 */
const heardAlignment = (
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

/** The data that the alignment of a path is computed from. */
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
