import { framesOf, type Audio } from '../../src/audio/audio.ts';
import type { Audition } from '../../src/audition/audition.ts';
import type { PlayedSound } from '../../src/audition/played-sound.ts';
import { SoundFeed } from '../../src/engine/worker/sound-feed.ts';

const sounds: Audio[] = [];

/** A sound that an audition can play. */
export const soundToPlay = (audio: Audio): PlayedSound => ({ id: sounds.push(audio) - 1, frames: framesOf(audio) });

/** Feeds an audition with these sounds, as the engine's worker does. */
export const feedTo = (audition: Audition): void => {
  const { port1, port2 } = new MessageChannel();
  new SoundFeed(port1, (id) => sounds[id] ?? null);
  audition.setFeed(port2);
};
