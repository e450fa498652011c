import type { Audio } from '../../src/audio/audio.ts';
import { readWav } from '../../src/files/wav/wav-read.ts';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { setBlend, setTrim } from '../../src/session/edits/edits.ts';
import { savePass } from '../../src/session/passes/passes.ts';
import type { Session } from '../../src/session/schema.ts';
import type { AudioFiles } from '../../src/engine/engine.ts';
import { sessionFrom } from '../helpers/sessions.ts';
import { pinkNoise, scaled, sine, stereo } from '../helpers/signals.ts';

export const RATE = 48_000;
const MIX_BUS = { threshold: -20, ratio: 3, attack: 10, release: 80, detector: 'peak' };
/** Just under a power of two of samples, as long as its noises are made. */
const SECONDS = 5.4;

/** Noise in bursts, so that levels over a section differ from those of the song. */
const bursts = (seed: number, period: number): Float32Array =>
  pinkNoise(SECONDS, seed, 0.1).map(
    (x, n) => x * (0.25 + 0.75 * Math.exp(-((n / RATE) % period) * 6)) * (n < 3 * RATE ? 1 : 0.3),
  );

const sounds = (): Record<string, Audio> => {
  const drums = bursts(1, 0.5);
  const bass = sine({ hz: 110, seconds: SECONDS, db: -18 });
  return {
    'drums.wav': stereo(drums, bursts(2, 0.5)),
    'bass.wav': { sampleRate: RATE, channels: [bass] },
    // One channel, which both loudspeakers play.
    'rough.wav': {
      sampleRate: RATE,
      channels: [
        scaled(
          drums.map((x, n) => x + (bass[n] ?? 0)),
          0.4,
        ),
      ],
    },
  };
};

/** Two groups, a bus, a chain on the mix bus, a rough of one channel, and a pass that differs from the mix in hand. */
export const shortSong = (): Session => {
  const mix = sessionFrom({
    rough: { file: 'rough.wav' },
    tracks: [
      { id: 'kit', name: 'Kit', file: 'drums.wav', group: 'drums' },
      { id: 'low', name: 'Low', file: 'bass.wav', group: 'bass' },
    ],
    groups: [
      { id: 'drums', name: 'Drums', sends: [{ to: 'squeeze' }] },
      { id: 'bass', name: 'Bass', sends: [{ to: 'squeeze', levelDb: -6 }] },
    ],
    buses: [
      {
        id: 'squeeze',
        name: 'Squeeze',
        blendDb: -6,
        chain: [
          { id: 'c', processor: 'compressor', settings: { threshold: -30, ratio: 6, makeUp: 8, detector: 'peak' } },
        ],
      },
    ],
    // A loop begins with what the mix bus holds of its end: a detector that lets go soon makes that little.
    mixBus: { chain: [{ id: 'c', processor: 'compressor', settings: MIX_BUS }] },
  });
  return setBlend(savePass(setTrim(mix, -4), 'Gentle'), 'squeeze', 2);
};

/** Its files as WAV. */
export const shortSongFiles = (): AudioFiles =>
  new Map(Object.entries(sounds()).map(([path, audio]) => [path, new Blob([writeWav(audio, '32f').bytes])] as const));

/** The short song four times over, so that rendering it takes its time. */
export const longerFiles = async (): Promise<AudioFiles> => {
  const files = await Promise.all(
    [...shortSongFiles()].map(async ([path, file]) => {
      const { sampleRate, channels } = readWav(new Uint8Array(await file.arrayBuffer()), path);
      const again = channels.map((channel) => {
        const long = new Float32Array(4 * channel.length);
        for (let round = 0; round < 4; round++) long.set(channel, round * channel.length);
        return long;
      });
      return [path, new Blob([writeWav({ sampleRate, channels: again }, '32f').bytes])] as const;
    }),
  );
  return new Map(files);
};

/** Waits until something is so, 5 minutes at most. */
export const until = async (isSo: () => boolean, what: string): Promise<void> => {
  for (let n = 0; !isSo(); n++) {
    if (n > 15_000) throw new Error(`${what} has not come about`);
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
};
