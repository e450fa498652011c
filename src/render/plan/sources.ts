import {
  framesOf,
  placedSound,
  secondsOf,
  wholeOf,
  type Audio,
  type Sound,
  type StereoSound,
} from '../../audio/audio.ts';
import { resample } from '../../audio/resample.ts';
import { ROUGH } from '../../session/graph.ts';
import { ProblemError, type Problem } from '../../session/problem.ts';
import type { Track } from '../../session/schema.ts';
import { hashOfSound } from '../content-hash.ts';
import type { SourceFacts } from './make-plan.ts';

/** Sound of the tracks by track id, and of the rough as ROUGH where it is a source, all at the session's rate. */
export type Sources = ReadonlyMap<string, Sound>;

/** Converts each track's sound, and that of ROUGH, to the session's rate; one already at that rate is passed through untouched. */
export const sourcesAt = (sampleRate: number, tracks: readonly Track[], sounds: ReadonlyMap<string, Audio>): Sources =>
  new Map(
    [...tracks.map(({ id }) => id), ROUGH].flatMap((id) => {
      const sound = sounds.get(id);
      return sound ? [[id, resample(sound, sampleRate)] as const] : [];
    }),
  );

/** Each sound at this rate; one already at that rate is passed through untouched. */
export const soundsAt = (sampleRate: number, sounds: ReadonlyMap<string, Audio>): ReadonlyMap<string, Audio> =>
  new Map([...sounds].map(([name, sound]) => [name, resample(sound, sampleRate)]));

/** Hashes of sounds in hand: a sound never changes, and hashing a song takes longer than planning it. */
const hashes = new WeakMap<Sound, string>();

/** The hash of a sound that was taken when it was read. */
export const keepHash = (sound: Sound, hash: string): void => void hashes.set(sound, hash);

const hashOf = (audio: Sound): string => {
  const hash = hashes.get(audio) ?? hashOfSound(audio);
  hashes.set(audio, hash);
  return hash;
};

/** Longest sound that a processor works with, seconds: rooms have died away by then, and longer ones cost too much. */
const LONGEST_SOUND_SECONDS = 20;

/** What is wrong with a sound of this length as one that a processor works with; null when nothing is. */
export const soundProblem = (file: string, seconds: number): Problem | null => {
  if (seconds > 0 && seconds <= LONGEST_SOUND_SECONDS) return null;
  const expected = `a sound of at most ${LONGEST_SOUND_SECONDS} seconds (cut it to its beginning)`;
  return { code: 'mismatch', path: file, expected, found: `${seconds.toFixed(1)} seconds` };
};

/**
 * Sounds that processors work with, by file, both sides of them; `sounds` are at the session's rate already.
 * @throws ProblemError for one that is empty or too long
 */
export const processorSounds = (sounds: ReadonlyMap<string, Sound>): ReadonlyMap<string, StereoSound> =>
  new Map(
    [...sounds].map(([file, audio]) => {
      const problem = soundProblem(file, secondsOf(audio));
      if (problem) throw new ProblemError(problem);
      const [left, right = left] = wholeOf(audio).channels as [Float32Array, Float32Array?];
      return [file, { hash: hashOf(audio), left, right }];
    }),
  );

/** What a plan must know of each sound. */
export const factsOf = (sources: Sources): ReadonlyMap<string, SourceFacts> =>
  new Map(
    [...sources].map(([id, audio]) => [
      id,
      { frames: framesOf(audio), channels: audio.channels.length, hash: hashOf(audio) },
    ]),
  );

/** One or two channels of `audio` in memory, shifted to `startFrame` and cut or filled to `frames`. More channels are refused at intake. */
export const placed = (audio: Sound, startFrame: number, frames: number): Float32Array[] => [
  ...wholeOf(placedSound({ ...audio, channels: audio.channels.slice(0, 2) }, startFrame, frames)).channels,
];
