import { framesOf, placedSound, type Audio, type Sound } from '../audio/audio.ts';
import { areSameSamples, STRETCH, type Samples } from '../audio/samples.ts';
import type { Range } from './engine.ts';

/** A range of a sound, frames. */
export interface Frames {
  readonly from: number;
  readonly to: number;
}

/** The frames of a range of the song; null: all of it. */
export const framesIn = (range: Range | null, sampleRate: number): Frames | null =>
  range && { from: Math.round(range.startSeconds * sampleRate), to: Math.round(range.endSeconds * sampleRate) };

/**
 * The frames of a section, cut at the end of the song; null: all of it.
 * @throws Error with one clear sentence when it begins after the end
 */
export const stretchIn = (
  section: Range | null,
  { sampleRate, soundFrames }: { readonly sampleRate: number; readonly soundFrames: number },
): Frames | null => {
  const frames = framesIn(section, sampleRate);
  if (!frames) return null;
  const to = Math.min(frames.to, soundFrames);
  if (frames.from >= to) throw new Error('That section begins after the end of the song: choose another one.');
  return { from: frames.from, to };
};

/** The range, as views on the sound. */
export function excerptOf(audio: Audio, frames: Frames | null): Audio;
export function excerptOf(audio: Sound, frames: Frames | null): Sound;
export function excerptOf(audio: Sound, frames: Frames | null): Sound {
  if (frames === null) return audio;
  const end = framesOf(audio);
  const from = Math.min(end, frames.from);
  return placedSound(audio, -from, Math.max(0, Math.min(end, frames.to) - from));
}

const copied = (samples: Samples): Float32Array<ArrayBuffer> => {
  const copy = new Float32Array(samples.length);
  for (let from = 0; from < copy.length; from += STRETCH)
    copy.set(samples.subarray(from, Math.min(copy.length, from + STRETCH)), from);
  return copy;
};

/** A copy in memory, which can be transferred to a worker. */
export const copyOf = ({ sampleRate, channels }: Sound): Audio => ({ sampleRate, channels: channels.map(copied) });

/** The buffers to transfer when sounds are sent to a worker. */
export const buffersOf = (...sounds: readonly Audio[]): Transferable[] =>
  sounds.flatMap(({ channels }) => channels.map(({ buffer }) => buffer as ArrayBuffer));

/** True where both are views on the same samples, from the same frame to the same frame. */
export const isSameSound = (sound: Sound, other: Sound | undefined): boolean =>
  other !== undefined && areSameSamples(sound.channels[0]!, other.channels[0]!);
