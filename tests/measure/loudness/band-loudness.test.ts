import { describe, expect, test } from 'vitest';
import type { Audio } from '../../../src/audio/audio.ts';
import { octaveShiftsOf } from '../../../src/blend/trial/octaves.ts';
import { bandLoudness } from '../../../src/measure/loudness/band-loudness.ts';
import { measure } from '../../../src/measure/measure.ts';
import { spectrumAgainst } from '../../../src/files/page/band-geometry.ts';
import { pinkNoise, sine } from '../../helpers/signals.ts';

const RATE = 48_000;
const sound = (left: Float32Array, right: Float32Array): Audio => ({ sampleRate: RATE, channels: [left, right] });

const SONG_SECONDS = 9;
const TAIL_SECONDS = 5;
const noise = (seed: number): Float32Array => pinkNoise(SONG_SECONDS, seed, 0.1).subarray(0, SONG_SECONDS * RATE);
const song = sound(noise(1), noise(2));

/** The song through a chain that changes nothing, with what sounds on after it. */
const withTail = (tail: (n: number) => number): Audio => {
  const channels = song.channels.map((channel) => {
    const longer = new Float32Array(channel.length + TAIL_SECONDS * RATE);
    longer.set(channel);
    for (let n = channel.length; n < longer.length; n++) longer[n] = tail(n - channel.length);
    return longer;
  });
  return sound(channels[0]!, channels[1]!);
};

const largest = (before: Audio, now: Audio): { octaves: number; bands: number } => {
  const [a, b] = [measure(before), measure(now)];
  return {
    octaves: Math.max(...octaveShiftsOf(a, b)!.map(({ db }) => Math.abs(db))),
    bands: Math.max(...spectrumAgainst(a, b).map(({ value }) => Math.abs(value ?? 0))),
  };
};

describe('loudness of third octaves', () => {
  // On steady sound the gates leave nothing out. 0.1 LU: bands are weighted at their mid frequencies.
  test('is integrated loudness (ITU-R BS.1770) where that is steady', () => {
    const tone = sine({ hz: 1000, seconds: 5, db: -14 });
    for (const steady of [song, sound(tone, tone)]) {
      const { bands, integratedLufs } = measure(steady);
      expect(Math.abs(bandLoudness(bands)! - integratedLufs!)).toBeLessThan(0.1);
    }
  });

  test('does not exist in silence', () => {
    expect(bandLoudness([{ hz: 1000, levelDb: null }])).toBeNull();
    expect(octaveShiftsOf(measure(song), measure(sound(new Float32Array(RATE), new Float32Array(RATE))))).toBeNull();
  });
});

describe('tone is compared whatever comes after the song', () => {
  test('silence of 5 s shifts no octave and no third octave', () => {
    // Its mean power alone falls by 10 lg (9 / 14) = 1.9 dB; the frame that the end of the song cuts leaks a little.
    const silent = largest(
      song,
      withTail(() => 0),
    );
    expect(silent.octaves).toBeLessThan(0.02);
    expect(silent.bands).toBeLessThan(0.1);
  });

  test('a tail shifts tone by the power that it adds, and by no more', () => {
    // A tone of 1 kHz, 60 dB down after 5 s, that starts 20 dB below the song.
    const decay = (n: number): number =>
      0.01 * 10 ** ((-3 * n) / (TAIL_SECONDS * RATE)) * Math.sin((2 * Math.PI * 1000 * n) / RATE);
    expect(largest(song, withTail(decay)).octaves).toBeLessThan(0.05);
  });

  test('a real change of tone is found to its size all the same', () => {
    const bass = withTail(() => 0);
    const more = sine({ hz: 63, seconds: SONG_SECONDS, db: -10 });
    const louder = sound(
      bass.channels[0]!.map((x, n) => x + (more[n] ?? 0)),
      bass.channels[1]!.map((x, n) => x + (more[n] ?? 0)),
    );
    const same = sound(
      song.channels[0]!.map((x, n) => x + (more[n] ?? 0)),
      song.channels[1]!.map((x, n) => x + (more[n] ?? 0)),
    );
    expect(largest(song, same).octaves).toBeGreaterThan(10);
    expect(Math.abs(largest(song, louder).octaves - largest(song, same).octaves)).toBeLessThan(0.02);
  });
});
