import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { resample } from '../../src/audio/resample.ts';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { casesOf, isSoaking, sampleOf } from '../helpers/soak.ts';
import type { Incoming } from '../../src/intake/opened-file.ts';
import { chance, madeTrack, multitrack, RATE, type MadeTrack } from './multitrack.ts';
import { codesOf, incoming, receivedFrom } from './received-from.ts';
import { singles, sumOf, type Place } from './rough-of.ts';

// Files are spoilt here one by one, each in a way that is known; what was not spoilt must raise nothing.
const SECONDS = 9;

let tracks: MadeTrack[] = [];
let places: Place[] = [];

/** A track as a file of two unlike channels, as a stereo recording is. */
const wide = (track: MadeTrack, other: MadeTrack): Audio => {
  const [a, b] = [track.audio.channels[0]!, other.audio.channels[0]!];
  return { sampleRate: RATE, channels: [a.map((x, n) => x + 0.3 * b[n]!), a.map((x, n) => 0.8 * x - 0.3 * b[n]!)] };
};

beforeAll(() => {
  tracks = multitrack(12, SECONDS, 31).map(({ name, audio }) => ({
    name,
    // Two unlike channels here and there; all with the faint noise of a recording.
    audio: { sampleRate: RATE, channels: audio.channels.map(withAir(name)) },
  }));
  tracks[10] = { name: 'Strings', audio: wide(tracks[10]!, madeTrack(12, SECONDS, 32)) };
  const next = chance(8);
  places = tracks.map(({ audio }) => ({
    gainDb: -14 + 8 * next(),
    pan: audio.channels.length === 2 ? 0 : next() - 0.5,
  }));
}, 60_000);

/** Noise at -85 dBFS and levels that leave room for the peak, as recordings have. */
const withAir = (name: string) => {
  const next = chance(name.length * 7919);
  return (channel: Float32Array): Float32Array => {
    const peak = channel.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
    return channel.map((x) => (0.5 * x) / peak + 1e-4 * (next() - 0.5));
  };
};

/** Files that are not spoilt, made once. */
const good = new Map<string, Incoming>();

const fileOf = ({ name, audio }: MadeTrack): Incoming => {
  const file = good.get(name) ?? incoming(`${name}.wav`, audio);
  good.set(name, file);
  return file;
};

const files = (
  spoilt: Readonly<Record<string, (audio: Audio) => Audio>> = {},
  more: readonly (readonly [string, Audio])[] = [],
  song: readonly MadeTrack[] = tracks,
) => [
  ...song.map((track) => {
    const spoil = spoilt[track.name];
    return spoil ? incoming(`${track.name}.wav`, spoil(track.audio)) : fileOf(track);
  }),
  ...more.map(([name, audio]) => incoming(name, audio)),
];

const rough = () => incoming('rough.wav', { sampleRate: RATE, channels: singles(sumOf(tracks, places)) });

const each =
  (change: (sample: number, n: number, channel: Float32Array) => number) =>
  (audio: Audio): Audio => ({
    ...audio,
    channels: audio.channels.map((channel) => channel.map((x, n) => change(x, n, channel))),
  });

describe('good files', () => {
  test('raise nothing, with a rough or without', async () => {
    // With a rough every check runs that runs without one, and more.
    if (isSoaking) expect(codesOf(await receivedFrom(files()))).toEqual({});
    expect(codesOf(await receivedFrom(files(), rough()))).toEqual({});
  });

  test.each(sampleOf([5, 44], 1))('nor do other songs (%i)', async (seed) => {
    const other = multitrack(16, 8, seed).map(({ name, audio }) =>
      incoming(`${name}.wav`, { ...audio, channels: audio.channels.map(withAir(name)) }),
    );
    expect(codesOf(await receivedFrom(other))).toEqual({});
  });
});

test.each([
  ['square', (phase: number) => (phase < 0.5 ? 1 : -1)],
  ['half square', (phase: number) => (phase < 0.4 ? 1 : 0)],
  ['saw', (phase: number) => 2 * phase - 1],
])('an artificial %s wave is no fault, but a click and a dropout in it are', async (_, wave) => {
  const tone = Float32Array.from({ length: 4 * RATE }, (_, n) => {
    const t = n / RATE;
    return 0.3 * Math.min(1, 20 * t, 20 * (4 - t)) * wave((110.3 * t) % 1);
  });
  const click = tone.map((x, n) => (n === 2 * RATE + 19 ? x + 0.5 : x));
  const lost = tone.map((x, n) => (n > 2 * RATE && n < 2 * RATE + 1500 ? 0 : x));
  const files = [tone, click, lost].map((channel, n) =>
    incoming(`${n}.wav`, { sampleRate: RATE, channels: [channel] }),
  );
  const told = (await receivedFrom(files)).tracks.map(({ warnings }) =>
    warnings.map(({ code }) => code).filter((code) => ['clicks', 'dropout'].includes(code)),
  );
  expect(told).toEqual([[], ['clicks'], ['dropout']]);
});

/** A sound with hum: three harmonics of the mains frequency. */
const withHum = (hz: number): ((audio: Audio) => Audio) =>
  each(
    (x, n) =>
      x +
      [1, 0.6, 0.4].reduce((sum, gain, k) => sum + 0.003 * gain * Math.sin((2 * Math.PI * hz * (k + 1) * n) / RATE), 0),
  );

describe('files spoilt one by one', () => {
  const spoilt: [code: string, track: string, spoil: (audio: Audio) => Audio][] = [
    ['dc-offset', 'Bass', each((x) => x + 0.01)],
    ['clipped', 'Lead Vox', each((x) => Math.max(-0.2, Math.min(0.2, x)))],
    ['hum', 'Lead Vox', withHum(50)],
    ['hum', 'Gtr Riff', withHum(60)],
    ['up-sampled', 'Hi-hat', (audio: Audio) => resample(resample(audio, 44_100), RATE)],
    ['up-sampled', 'Shaker', (audio: Audio) => resample(resample(audio, 22_050), RATE)],
    ['sample-rate', 'Piano', (audio: Audio) => resample(audio, 44_100)],
    [
      'channel-missing',
      'Strings',
      ({ sampleRate, channels }: Audio) => ({ sampleRate, channels: [channels[0]!, channels[0]!.map(() => 0)] }),
    ],
    [
      'mono-as-stereo',
      'Piano',
      ({ sampleRate, channels }: Audio) => ({ sampleRate, channels: [channels[0]!, channels[0]!] }),
    ],
    [
      'channel-polarity',
      'Piano',
      ({ sampleRate, channels: [one] }: Audio) => ({ sampleRate, channels: [one!, one!.map((x) => -0.9 * x)] }),
    ],
    [
      'channel-delay',
      'Piano',
      ({ sampleRate, channels: [one] }: Audio) => ({
        sampleRate,
        channels: [one!, one!.map((_, n) => 0.9 * (one![n - 11] ?? 0))],
      }),
    ],
    ['silent', 'Tom', each(() => 0)],
    ['very-quiet', 'Organ', each((x) => 0.002 * x)],
    ['over-full-scale', 'Snare', each((x) => 1.98 * x)],
    ['dropout', 'Organ', each((x, n) => (n > 3 * RATE && n < 3 * RATE + 400 ? 0 : x))],
    ['clicks', 'Organ', each((x, n) => (n === 5 * RATE + 17 ? x + 0.6 : x))],
    [
      'noise-floor',
      'Snare',
      (() => {
        const next = chance(3);
        return each((x) => x + 0.006 * (next() - 0.5));
      })(),
    ],
    [
      'tail-cut',
      'Gtr Chords',
      ({ sampleRate, channels }: Audio) => ({
        sampleRate,
        channels: channels.map((c) => c.map((x, n) => x * (1 - 0.999 * Number(n < 0)))).map((c) => loudEnd(c)),
      }),
    ],
    [
      'head-cut',
      'Gtr Chords',
      ({ sampleRate, channels }: Audio) => ({
        sampleRate,
        channels: channels.map((c) => loudEnd(c.slice().reverse()).reverse()),
      }),
    ],
    [
      'length',
      'Kick',
      ({ sampleRate, channels }: Audio) => ({
        sampleRate,
        channels: channels.map((c) => c.slice(0, 7 * RATE).map((x, n) => x * Math.min(1, (7 * RATE - n) / RATE))),
      }),
    ],
  ];
  // Up to seven files of a song at once, which spares receiving the others again and again; when soaking one by one.
  const songs: (typeof spoilt)[] = [];
  for (const one of spoilt) {
    const room = songs.find((song) => song.length < casesOf(7, 1) && !song.some(([, track]) => track === one[1]));
    if (room) room.push(one);
    else songs.push([one]);
  }
  const named = songs.map((song) => [song.map(([code, track]) => `${code}: ${track}`).join(', '), song] as const);

  test.each(named)('%s', async (_, song) => {
    const told = codesOf(await receivedFrom(files(Object.fromEntries(song.map(([, name, spoil]) => [name, spoil])))));
    expect(Object.keys(told).sort()).toEqual(song.map(([, name]) => `${name}.wav`).sort());
    for (const [code, name] of song) {
      // Cut ends are shorter too.
      const allowed = code.endsWith('-cut') ? [code, 'length'] : [code];
      expect(told[`${name}.wav`]).toContain(code);
      expect(allowed).toEqual(expect.arrayContaining(told[`${name}.wav`]!));
    }
  });

  test('inverted and moved by 11 samples, told by the rough: level and place are found all the same', async () => {
    const received = await receivedFrom(
      files({
        Bass: each((x) => -x),
        Snare: each((_, n, channel) => channel[n - 11] ?? 0),
        'Gtr Riff': each((_, n, channel) => channel[n + 11] ?? 0),
      }),
      rough(),
    );
    expect(codesOf(received)).toEqual({
      'Bass.wav': ['polarity'],
      'Snare.wav': ['shifted'],
      'Gtr Riff.wav': ['shifted'],
    });
    const found = received.rough!.explained.tracks;
    expect(found.map(({ shiftSamples }) => shiftSamples)).toEqual(
      tracks.map(({ name }) => (name === 'Snare' ? -11 : name === 'Gtr Riff' ? 11 : 0)),
    );
    found.forEach(({ gainDb, pan }, n) => {
      expect(Math.abs(gainDb! - places[n]!.gainDb)).toBeLessThan(0.1);
      expect(Math.abs(pan! - places[n]!.pan)).toBeLessThan(0.02);
    });
  });

  const copies: [string, (audio: Audio) => Audio][] = [
    ['as it is', each((x) => x)],
    ['inverted', each((x) => -x)],
    ['11 samples late', each((_, n, channel) => channel[n - 11] ?? 0)],
    ['at another level', each((x) => 0.4 * x)],
  ];
  test.each(sampleOf(copies, 2))('a copy beside its original: %s', async (_, copy) => {
    const told = codesOf(
      await receivedFrom(files({}, [['Copy of piano.wav', copy(tracks[8]!.audio)]], tracks.slice(6))),
    );
    expect(told).toEqual({ 'Copy of piano.wav': ['identical'] });
  });

  test('two microphones of one source, one inverted', async () => {
    const next = chance(12);
    const snare = tracks[1]!.audio.channels[0]!;
    const below = snare.map(
      (_, n) => -0.6 * (snare[n - 9] ?? 0) + 0.01 * (next() - 0.5) * (Math.abs(snare[n - 9] ?? 0) > 0.01 ? 10 : 0),
    );
    const { tracks: told } = await receivedFrom(
      files({}, [['Snare bottom.wav', { sampleRate: RATE, channels: [below] }]], tracks.slice(0, 5)),
    );
    const warnings = told.filter(({ warnings: own }) => own.length > 0);
    expect(warnings.map(({ file }) => file)).toEqual(['Snare bottom.wav']);
    expect(warnings[0]!.warnings[0]).toMatchObject({ code: 'polarity', fix: { kind: 'polarity' } });
    // r(x, -y) = -r(x, y): the fix changes the sign of the correlation and nothing else.
    const { figure, before, after } = warnings[0]!.warnings[0]!.effect!;
    expect(figure).toBe('correlation with Snare.wav');
    expect(Number(before)).toBeLessThan(-0.3);
    expect(after).toBe(before.replace('-', '+'));
  });

  test('every warning says in plain words what to do', async () => {
    const { tracks: told } = await receivedFrom(
      files({ Bass: each((x) => x + 0.01), Tom: each(() => 0) }, [], [tracks[5]!, tracks[3]!]),
    );
    const [dc] = told[0]!.warnings;
    // The notes of the bass have a mean of their own in blocks of 0.2 s: some hundredths of a percent.
    expect(dc!.message).toMatch(
      /^It has a DC offset of (1\.0|0\.9)\d % of full scale \(-(40\.\d|39\.\d) dBFS\), which takes headroom and clicks at cuts\.$/,
    );
    expect(dc).toMatchObject({ fix: { kind: 'low cut', hz: 10 }, isSafe: true, todo: 'Cut below 10 Hz.' });
    // What a cut leaves of a constant is nothing; a head or tail that stands at it is no sound that was cut off.
    expect(dc!.effect).toMatchObject({ figure: 'DC offset', after: '0.00 %' });
    expect(dc!.effect!.before).toMatch(/^(1\.0|0\.9)\d %$/);
    expect(told[0]!.warnings.map(({ code }) => code)).not.toContain('head-cut');
    expect(told[1]!.warnings).toMatchObject([
      { code: 'silent', message: 'It is silent: every sample is 0.', fix: { kind: 'leave out' } },
    ]);
  });
});

/** Up to the last place in the second half where the channel is loud. */
const loudEnd = (channel: Float32Array): Float32Array => {
  const peak = channel.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
  let end = channel.length;
  while (Math.abs(channel[end - 1]!) < 0.5 * peak) end--;
  return channel.slice(0, end);
};

const hasFfmpeg = spawnSync('ffmpeg', ['-version']).error === undefined;

// The coder is one of outside the project; where it is missing this runs not.
describe.runIf(hasFfmpeg)('decoded from MP3', () => {
  const folder = mkdtempSync(join(tmpdir(), 'tributary-'));
  afterAll(() => rmSync(folder, { recursive: true }));

  test.each(sampleOf(['128k', '192k'], 1))('at %s', async (rate) => {
    const lossy = (audio: Audio): Audio => {
      const [wav, mp3, back] = ['in.wav', 'coded.mp3', 'out.wav'].map((name) => join(folder, name)) as [
        string,
        string,
        string,
      ];
      writeFileSync(wav, writeWav(audio, '24').bytes);
      execFileSync('ffmpeg', ['-v', 'error', '-y', '-i', wav, '-b:a', rate, mp3]);
      execFileSync('ffmpeg', ['-v', 'error', '-y', '-i', mp3, '-f', 'f32le', back]);
      const bytes = readFileSync(back);
      const samples = new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
      return { sampleRate: RATE, channels: [samples.slice(0, audio.channels[0]!.length)] };
    };
    const told = codesOf(await receivedFrom(files({ 'Hi-hat': lossy }, [], tracks.slice(0, 5))));
    expect(Object.keys(told)).toEqual(['Hi-hat.wav']);
    expect(told['Hi-hat.wav']!.some((code) => code === 'lossy' || code === 'up-sampled')).toBe(true);
  });
});
