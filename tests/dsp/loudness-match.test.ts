import { describe, expect, test } from 'vitest';
import { Chain } from '../../src/dsp/core/chain.ts';
import { decibelsOf } from '../../src/audio/decibels.ts';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import type { KeySignal } from '../../src/dsp/core/processor.ts';
import { readAudioFile } from '../../src/files/node/node-files.ts';
import { loudnessOf } from '../../src/measure/loudness/loudness.ts';
import { weightedEnergyOf } from '../../src/measure/loudness/weighted-energy.ts';
import { noise, run, stepOf, through } from '../helpers/chains.ts';
import { isSoaking } from '../helpers/soak.ts';

// Whole programmes: the song that comes with the project, and its tracks. All at 48 kHz.

const RATE = 48000;
const programme = async (...files: readonly string[]): Promise<KeySignal> => {
  const sounds = await Promise.all(files.map((file) => readAudioFile(`demo-audio/${file}`)));
  const frames = Math.max(...sounds.map(({ channels }) => channels[0]!.length));
  const side = (n: number): Float64Array => {
    const sum = new Float64Array(frames);
    for (const { channels } of sounds) (channels[n] ?? channels[0]!).forEach((x, i) => (sum[i]! += x));
    return sum;
  };
  return { left: side(0), right: side(1) };
};
const part = ({ left, right }: KeySignal, fromSeconds: number, toSeconds: number): KeySignal => ({
  left: left.slice(fromSeconds * RATE, toSeconds * RATE),
  right: right.slice(fromSeconds * RATE, toSeconds * RATE),
});
const loudness = ({ left, right }: KeySignal): number =>
  loudnessOf(weightedEnergyOf({ sampleRate: RATE, channels: [Float32Array.from(left), Float32Array.from(right)] }))
    .integrated!;

const song = await programme('rough.wav');
const drums = await programme('tracks/kick.flac', 'tracks/snare.flac', 'tracks/hats.flac', 'tracks/toms.flac');
const voice = await programme('tracks/lead.flac');
const bass = await programme('tracks/bass.flac');

const SQUEEZES: readonly Settings[] = [
  { threshold: -20, ratio: 3, attack: 10, release: 120 },
  { threshold: -45, ratio: 10, attack: 1, release: 100 },
  { threshold: -30, ratio: 4, attack: 30, release: 500 },
  { threshold: -60, ratio: 100, attack: 0.1, release: 50 },
];

const PROGRAMMES = [
  ['the song', song, 0.3],
  ['its first fifteen seconds', part(song, 0, 15), 0.3],
  ['fifteen seconds from its middle', part(song, 12, 27), 0.3],
  // They end on their loudest bars, from which no time is left to make good what was missed.
  ['the drums', drums, 0.4],
  ['the voice', voice, 0.3],
  ['the bass', bass, 0.3],
] as const;

describe.each(PROGRAMMES)('automatic make-up over %s', (name, input, bound) => {
  const before = loudness(input);
  const turn = PROGRAMMES.findIndex((programme) => programme[0] === name);
  // Each programme with one of them, and each of them with a programme; when soaking all with all.
  test.each(isSoaking ? SQUEEZES : [SQUEEZES[turn % SQUEEZES.length]!])(
    'leaves the integrated loudness as it was: %j',
    (squeeze) => {
      const output = through([stepOf('compressor', { ...squeeze, autoMakeUp: true })], input);
      expect(Math.abs(loudness(output) - before)).toBeLessThan(bound);
    },
  );
});

describe('the gain of automatic make-up', () => {
  const squeeze: Settings = { threshold: -45, ratio: 10, attack: 1, release: 100 };
  /** Make-up at every tenth of a second, dB: the output with it over the output without. */
  const gains = (input: KeySignal, settings: Settings = {}): number[] => {
    const plain = through([stepOf('compressor', { ...squeeze, ...settings })], input).left;
    const made = through([stepOf('compressor', { ...squeeze, ...settings, autoMakeUp: true })], input).left;
    const rms = (samples: Float64Array, from: number): number =>
      Math.sqrt(samples.subarray(from, from + 480).reduce((sum, x) => sum + x * x, 0));
    return Array.from({ length: Math.floor(input.left.length / 4800) }, (_, n) =>
      decibelsOf(rms(made, 4800 * n) / rms(plain, 4800 * n)),
    ).filter((gain) => Number.isFinite(gain));
  };

  test('does not pump: after the first seconds it never moves faster than 0.3 dB in a tenth of a second', () => {
    const steps = gains(song).map((gain, n, all) => Math.abs(gain - (all[n - 1] ?? gain)));
    expect(Math.max(...steps.slice(40))).toBeLessThan(0.3);
    expect(Math.max(...steps.slice(0, 40))).toBeGreaterThan(0.3);
  });

  test('is there within the first half second of a steady sound', () => {
    // With look-ahead, for without it the attack lets the first instant through, and that counts as it is heard.
    const all = gains(noise(5 * RATE, 3, 0.3), { lookAhead: 10 });
    expect(Math.abs(all[5]! - all.at(-1)!)).toBeLessThan(0.5);
  });

  test('follows a change of settings within seconds, however long the sound has lasted', () => {
    const input = noise(30 * RATE, 4, 0.3);
    const chain = new Chain([stepOf('compressor', { ...squeeze, ratio: 1.5, autoMakeUp: true })], RATE, 128);
    run(chain, input);
    chain.set(0, stepOf('compressor', { ...squeeze, autoMakeUp: true }).values);
    const after = run(chain, part(input, 0, 12));
    expect(Math.abs(loudness(part(after, 9, 12)) - loudness(part(input, 9, 12)))).toBeLessThan(0.3);
  });
});
