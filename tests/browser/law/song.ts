import type { Audio } from '../../../src/audio/audio.ts';
import { writeWav } from '../../../src/files/wav/wav-write.ts';
import type { Session } from '../../../src/session/schema.ts';
import { sessionFrom } from '../../helpers/sessions.ts';
import { added, pinkNoise, scaled, sine, stereo } from '../../helpers/signals.ts';

const RATE = 48_000;
const SECONDS = 2;
const FRAMES = SECONDS * RATE;

const noise = (seed: number, rms: number): Float32Array => pinkNoise(SECONDS, seed, rms).subarray(0, FRAMES);

/** Noise in bursts, each dying away. */
const bursts = (seed: number, period: number, fall: number): Float32Array =>
  noise(seed, 0.15).map((x, n) => x * Math.exp(-((n / RATE) % period) * fall));

const chord = (...hz: number[]): Float32Array =>
  hz.map((each) => sine({ hz: each, seconds: SECONDS, db: -26 })).reduce(added);

const sounds = (): Record<string, Audio> => {
  const kick = bursts(1, 0.5, 20);
  const snare = bursts(2, 0.25, 30);
  const guitar = added(chord(220, 331, 440), noise(4, 0.02));
  const low = sine({ hz: 82, seconds: SECONDS, db: -20 });
  const rough = [kick, snare, guitar, low].reduce(added);
  return {
    'kick.wav': { sampleRate: RATE, channels: [kick] },
    'snare.wav': { sampleRate: RATE, channels: [snare] },
    'guitar.wav': stereo(guitar, added(chord(222, 329, 441), noise(5, 0.02))),
    'bass.wav': { sampleRate: RATE, channels: [low] },
    'lead.wav': stereo(noise(6, 0.05), noise(7, 0.05)),
    // One channel, which both loudspeakers play.
    'rough.wav': { sampleRate: RATE, channels: [scaled(rough, 0.5)] },
  };
};

/** Five tracks in four groups; buses with a tail, with a limit of its own, and one that is fed by another. */
export const lawSong = (): Session =>
  sessionFrom({
    rough: { file: 'rough.wav' },
    tracks: [
      { id: 'kick', name: 'Kick', file: 'kick.wav', group: 'drums' },
      { id: 'snare', name: 'Snare', file: 'snare.wav', group: 'drums', pan: 0.2 },
      { id: 'guitar', name: 'Guitar', file: 'guitar.wav', group: 'guitars' },
      { id: 'low', name: 'Low', file: 'bass.wav', group: 'bass' },
      { id: 'lead', name: 'Lead', file: 'lead.wav', group: 'voice' },
    ],
    groups: [
      { id: 'drums', name: 'Drums', sends: [{ to: 'squeeze' }, { to: 'room', levelDb: -6 }] },
      { id: 'guitars', name: 'Guitars', sends: [{ to: 'grit' }] },
      { id: 'bass', name: 'Bass', sends: [{ to: 'squeeze', levelDb: -6 }] },
      { id: 'voice', name: 'Voice', vocal: true, sends: [{ to: 'room' }] },
    ],
    buses: [
      {
        id: 'squeeze',
        name: 'Squeeze',
        blendDb: -6,
        chain: [{ id: 'c', processor: 'compressor', settings: { threshold: -30, ratio: 6, makeUp: 8 } }],
        sends: [{ to: 'grit', levelDb: -3 }],
      },
      { id: 'grit', name: 'Grit', blendDb: -12, chain: [{ id: 's', processor: 'saturator', settings: { drive: 12 } }] },
      {
        id: 'room',
        name: 'Room',
        blendDb: -14,
        chain: [{ id: 'r', processor: 'reverb', settings: { decay: 0.4, mix: 100 } }],
      },
    ],
    mixBus: { chain: [{ id: 'c', processor: 'compressor', settings: { threshold: -20, ratio: 2 } }] },
  });

/** Its files, as bytes of WAV. */
export const lawSongFiles = (): ReadonlyMap<string, Uint8Array<ArrayBuffer>> =>
  new Map(
    Object.entries(sounds()).map(([path, audio]) => [path, new Uint8Array(writeWav(audio, '32f').bytes)] as const),
  );
