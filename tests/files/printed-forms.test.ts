import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, describe, expect, test } from 'vitest';
import type { Sound } from '../../src/audio/audio.ts';
import { decodeAudioFile } from '../../src/files/decode/decode.ts';
import { FORM_ENDINGS, formWriter, type FileForm } from '../../src/files/print/file-form.ts';
import { inMemory } from '../../src/files/bytes/file-keeper.ts';
import { copied, written } from '../../src/files/print/print-file.ts';
import { readWav } from '../../src/files/wav/wav-read.ts';
import { writeWav, type WavBits } from '../../src/files/wav/wav-write.ts';
import { casesOf } from '../helpers/soak.ts';
import { noiseIntegers, scaled, sine } from './signals.ts';

const MARKERS = [
  { frame: 0, name: 'Verse' },
  { frame: 4000, name: 'Chörus 2' },
];

const writtenAs = async (sound: Sound, form: FileForm, bits: WavBits): Promise<Uint8Array> => {
  const facts = { title: 'Song - Drums', artist: 'Nobody', startFrame: 441_000, markers: MARKERS, tempo: 96.5 };
  const order = { seed: 1, shaped: false, kind: 'main', target: null, nameOf: () => 'x', ending: '.x' } as const;
  const { print } = await written(sound, { ...order, form, bits, facts }, inMemory);
  return print.content;
};

/** The samples of the same sound in a WAV file: what every other form must hold. */
const inWav = (sound: Sound, bits: WavBits) => readWav(writeWav(sound, bits).bytes, 'x.wav').channels;

/** What an encoder can meet: tones, noise of all heights, silence, full scale, steps, unlike and equal sides. */
const SOUNDS: Readonly<Record<string, Sound>> = {
  'two tones': { sampleRate: 44_100, channels: [sine(997, 44_100, 9000, 0.5), sine(1499, 44_100, 9000, 0.25)] },
  'equal sides': { sampleRate: 48_000, channels: [sine(100, 48_000, 8192), sine(100, 48_000, 8192)] },
  'noise beside silence': {
    sampleRate: 96_000,
    channels: [scaled(noiseIntegers(5001, 16, 3), 16), new Float32Array(5001)],
  },
  'full scale, side against side': {
    sampleRate: 192_000,
    channels: [1, -1].map((sign) => Float32Array.from({ length: 4097 }, (_, i) => ((i >> 5) % 2 ? sign : -sign))),
  },
  'mono of an odd rate': { sampleRate: 37_800, channels: [sine(440, 37_800, 4096)] },
  'six channels': { sampleRate: 48_000, channels: [1, 2, 3, 4, 5, 6].map((n) => sine(100 * n, 48_000, 5000)) },
};

describe.each(['16', '24'] as const)('FLAC of %s bits', (bits) => {
  test.each(Object.keys(SOUNDS))('is decoded to the samples of a WAV file by another decoder: %s', async (name) => {
    const sound = SOUNDS[name]!;
    const back = await decodeAudioFile(await writtenAs(sound, 'flac', bits), 'x.flac');
    expect(back.sampleRate).toBe(sound.sampleRate);
    expect(back.channels).toEqual(inWav(sound, bits));
  });
});

test('FLAC of any integers comes back bit for bit', async () => {
  const block = fc.record({
    height: fc.integer({ min: 0, max: 23 }),
    seed: fc.integer({ min: 1, max: 9999 }),
    frames: fc.integer({ min: 500, max: 9000 }),
    sides: fc.integer({ min: 1, max: 3 }),
  });
  await fc.assert(
    fc.asyncProperty(block, async ({ height, seed, frames, sides }) => {
      const channels = Array.from({ length: sides }, (_, n) =>
        noiseIntegers(frames, height + 1, seed + n).map((x) => x / 2 ** 23),
      ).map((samples) => Float32Array.from(samples));
      const sound = { sampleRate: 48_000, channels };
      expect((await decodeAudioFile(await writtenAs(sound, 'flac', '24'), 'x.flac')).channels).toEqual(channels);
    }),
    { numRuns: casesOf(5, 100) },
  );
});

test.each(['16', '24', '32f'] as const)('AIFF of %s bits comes back as the WAV file does', async (bits) => {
  const sound = SOUNDS['noise beside silence']!;
  const back = await decodeAudioFile(await writtenAs(sound, 'aiff', bits), 'x.aiff');
  expect([back.sampleRate, back.channels]).toEqual([sound.sampleRate, inWav(sound, bits)]);
});

test('AIFF that its sizes cannot tell is refused with one sentence, and WAV of that length is not', async () => {
  const format = { encoding: 'float', bits: 32, channels: 2, sampleRate: 96_000 } as const;
  // Sizes are 32 bit numbers: 4 GiB are 93 minutes at 96 kHz.
  const frames = 94 * 60 * 96_000;
  const sentence =
    'An AIFF file does not fit: expected less than 4 GB of samples (WAV and FLAC hold more), found 4.3 GB.';
  await expect(formWriter('aiff', format, frames)).rejects.toThrow(sentence);
  await expect(formWriter('wav', format, frames)).resolves.toBeDefined();
});

const hasFfmpeg = spawnSync('ffmpeg', ['-version']).error === undefined;

describe.runIf(hasFfmpeg)('read by ffmpeg', () => {
  const folder = mkdtempSync(join(tmpdir(), 'tributary-'));
  afterAll(() => rmSync(folder, { recursive: true }));

  const sound = SOUNDS['two tones']!;
  const fileOf = async (form: FileForm, bits: WavBits): Promise<string> => {
    const path = join(folder, `${bits}${FORM_ENDINGS[form]}`);
    writeFileSync(path, await writtenAs(sound, form, bits));
    return path;
  };
  const told = (path: string): string =>
    execFileSync('ffprobe', ['-v', 'error', '-show_streams', '-show_format', '-show_chapters', path], {
      encoding: 'utf8',
    });

  test.each([
    ['flac', '16', 's16le'],
    ['flac', '24', 's24le'],
    ['aiff', '16', 's16le'],
    ['aiff', '24', 's24le'],
    ['aiff', '32f', 'f32le'],
  ] as const)('%s of %s bits holds the samples of the WAV file, every check value right', async (form, bits, raw) => {
    const wav = join(folder, 'same.wav');
    writeFileSync(wav, writeWav(sound, bits).bytes);
    const digestOf = (path: string): string => {
      const strict = ['-v', 'error', '-err_detect', 'crccheck+bitstream+explode', '-xerror'];
      const output = ['-c:a', `pcm_${raw}`, '-f', 'md5', '-'];
      return execFileSync('ffmpeg', [...strict, '-i', path, ...output], { encoding: 'utf8' });
    };
    expect(digestOf(await fileOf(form, bits))).toBe(digestOf(wav));
  });

  test('FLAC tells what it is, where it begins and where sections do', async () => {
    const text = told(await fileOf('flac', '24'));
    for (const line of ['TAG:TITLE=Song - Drums', 'TAG:ARTIST=Nobody', 'TAG:BPM=96.5', 'TAG:TIME_REFERENCE=441000'])
      expect(text).toContain(line);
    expect(text).toContain('TAG:title=Chörus 2');
    expect(text).toContain('bits_per_raw_sample=24');
    // 4000 frames at 44.1 kHz are 90.7 ms; chapters have milliseconds.
    expect(text).toContain('start_time=0.091000');
  });

  test('an MP3 copy tells what it is, and its tempo', async () => {
    const path = join(folder, 'copy.mp3');
    const copy = { name: 'copy.mp3', kind: 'main', target: null } as const;
    const facts = { title: 'Söng - main', artist: 'Nobody', tempo: 96 };
    writeFileSync(path, (await copied(sound, copy, facts, 192, inMemory)).print.content);
    const text = told(path);
    for (const line of ['TAG:title=Söng - main', 'TAG:artist=Nobody', 'TAG:TBPM=96']) expect(text).toContain(line);
  });

  test('AIFF tells what it is', async () => {
    expect(told(await fileOf('aiff', '24'))).toContain('TAG:title=Song - Drums');
  });
});
