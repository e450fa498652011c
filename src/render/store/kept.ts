import { framesOf, stretchOf, type Sound } from '../../audio/audio.ts';
import { STRETCH } from '../../audio/samples.ts';
import { finished } from '../../audio/steps.ts';
import type { SoundRoom } from './room.ts';

/** A copy of a sound of one or two channels, kept in `room`. */
export const keptIn = (room: SoundRoom, sound: Sound): Sound => finished(keptSteps(room, sound));

/** The same step by step; each step yields the part done, 0..1. */
export function* keptSteps(room: SoundRoom, sound: Sound): Generator<number, Sound> {
  const frames = framesOf(sound);
  const kept = room.take(frames);
  for (let from = 0; from < frames; from += STRETCH) {
    const [left, right = left] = stretchOf(sound, from, Math.min(frames, from + STRETCH)).channels;
    kept.put(from, left!, right!);
    yield from / frames;
  }
  return { sampleRate: sound.sampleRate, channels: [kept.left, kept.right].slice(0, sound.channels.length) };
}
