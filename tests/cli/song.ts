import { added, pinkNoise, scaled, sine, stereo } from '../helpers/signals.ts';
import type { Workplace } from './command.ts';

type Fields = Readonly<Record<string, unknown>>;

/** The length of the small song, s: just under a power of two of samples, as long as its noises are made. */
export const SECONDS = 2.7;

/** Sound of the small song on disk: a tone beside noise, two unlike tracks, and a rough mix of both. */
export const writeSounds = (place: Workplace): void => {
  const low = sine({ hz: 110, seconds: SECONDS, db: -12 });
  const noise = pinkNoise(SECONDS, 7, 0.05).subarray(0, low.length);
  const other = pinkNoise(SECONDS, 8, 0.05).subarray(0, low.length);
  place.writeAudio('bass.wav', stereo(low));
  place.writeAudio('keys.wav', stereo(noise, other));
  place.writeAudio('rough.wav', stereo(scaled(added(low, noise), 0.8), scaled(added(low, other), 0.8)));
};

/** A session of two tracks, with a bus that doubles the bass through a wire unless `fields` say otherwise. */
export const songSession = (fields: Fields = {}): Fields => ({
  format: 'tributary-session',
  version: 4,
  title: 'Small song',
  sampleRate: 48_000,
  rough: { file: 'rough.wav' },
  tracks: [
    { id: 'bass-track', name: 'Bass', file: 'bass.wav', group: 'bass' },
    { id: 'keys-track', name: 'Keys', file: 'keys.wav', group: 'keys' },
  ],
  groups: [
    { id: 'bass', name: 'Bass', sends: [{ to: 'double' }] },
    { id: 'keys', name: 'Keys' },
  ],
  buses: [{ id: 'double', name: 'Bass double', blendDb: 0, chain: [{ processor: 'gain' }] }],
  ...fields,
});

/** Writes a session beside its sounds. */
export const writeSession = (place: Workplace, name: string, fields: Fields = {}): string =>
  place.write(name, JSON.stringify(songSession(fields)));
