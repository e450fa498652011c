import { framesOf, type Audio } from '../dsp/audio.ts';
import { resample } from '../dsp/resample.ts';
import type { Track } from '../session/schema.ts';
import { hashOfAudio } from './content-hash.ts';
import type { SourceFacts } from './make-plan.ts';

/** Sound of the tracks by track id, all at the session's rate. */
export type Sources = ReadonlyMap<string, Audio>;

/** Converts each track's sound to the session's rate; a sound already at that rate is passed through untouched. */
export const sourcesAt = (sampleRate: number, tracks: readonly Track[], sounds: ReadonlyMap<string, Audio>): Sources =>
  new Map(
    tracks.flatMap(({ id }) => {
      const sound = sounds.get(id);
      return sound ? [[id, resample(sound, sampleRate)] as const] : [];
    }),
  );

/** Hashes of sounds in hand: a sound never changes, and hashing a song takes longer than planning it. */
const hashes = new WeakMap<Audio, string>();

const hashOf = (audio: Audio): string => {
  const hash = hashes.get(audio) ?? hashOfAudio(audio);
  hashes.set(audio, hash);
  return hash;
};

/** What a plan must know of each sound. */
export const factsOf = (sources: Sources): ReadonlyMap<string, SourceFacts> =>
  new Map(
    [...sources].map(([id, audio]) => [
      id,
      { frames: framesOf(audio), channels: audio.channels.length, hash: hashOf(audio) },
    ]),
  );

/** One or two channels of `audio`, shifted to `startFrame` and cut or filled to `frames`. More channels are refused at intake. */
export const placed = (audio: Audio, startFrame: number, frames: number): Float32Array[] =>
  audio.channels.slice(0, 2).map((channel) => {
    const out = new Float32Array(frames);
    const from = Math.max(0, -startFrame);
    const at = Math.max(0, startFrame);
    if (from < channel.length && at < frames) out.set(channel.subarray(from, from + frames - at), at);
    return out;
  });
