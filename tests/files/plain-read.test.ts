import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { decodeAudioFile } from '../../src/files/decode/decode.ts';
import { timeReferenceOf } from '../../src/files/wav/time-reference.ts';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { aiffOf, be, cafOf } from './plain-bytes.ts';
import { noiseIntegers, scaled } from './signals.ts';
import { data, fmt, integerBytes, u32, u64, wavOf } from './wav-bytes.ts';

const read = (bytes: Uint8Array) => decodeAudioFile(bytes, 'take');

const many = <T>(values: readonly T[]): T[] => Array.from({ length: 500 }, () => values).flat();
const start = (channel: Float32Array): number[] => Array.from(channel.subarray(0, 4));

describe('AIFF and AIFC: numbers by the format, / 2^(bits-1)', () => {
  test.each([
    ['8 bit, signed', { bits: 8 }, [0x80, 0xff, 0, 0x7f], [-1, -1 / 128, 0, 127 / 128]],
    ['16 bit', { bits: 16 }, [0x80, 0, 0xff, 0xff, 0, 0, 0x7f, 0xff], [-1, -1 / 32768, 0, 32767 / 32768]],
    [
      '12 bit in the upper part of 16',
      { bits: 12 },
      [0x80, 0, 0xff, 0xf0, 0, 0, 0x7f, 0xf0],
      [-1, -1 / 2048, 0, 2047 / 2048],
    ],
    ['24 bit', { bits: 24 }, [0x80, 0, 0, 0xff, 0xff, 0xff, 0, 0, 0, 0x40, 0, 0], [-1, -(2 ** -23), 0, 0.5]],
    ['little-endian', { bits: 16, type: 'sowt' }, [0, 0x80, 0xff, 0xff, 0, 0, 0, 0x40], [-1, -1 / 32768, 0, 0.5]],
    ['unsigned bytes', { bits: 8, type: 'raw ' }, [0, 0x7f, 0x80, 0xc0], [-1, -1 / 128, 0, 0.5]],
    [
      'float',
      { bits: 32, type: 'fl32' },
      [0xbf, 0x80, 0, 0, 0x40, 0, 0, 0, 0, 0, 0, 0, 0x3f, 0, 0, 0],
      [-1, 2, 0, 0.5],
    ],
  ])('%s', async (_, fields, bytes, values) => {
    const frames = 2000;
    const audio = await read(aiffOf({ ...fields, frames, offset: fields.bits === 16 ? 4 : 0 }, many(bytes)));
    expect(audio.sampleRate).toBe(48000);
    expect(audio.channels[0]!.length).toBe(frames);
    expect(start(audio.channels[0]!)).toEqual(values);
  });

  test('channels are dealt out in turn, at 96 kHz', async () => {
    const bytes = aiffOf(
      { bits: 16, channels: 2, rate: 96000, frames: 1000 },
      many([0x40, 0, 0xc0, 0, 0x40, 0, 0xc0, 0]),
    );
    const { channels, sampleRate } = await read(bytes);
    expect([sampleRate, channels[0]![999], channels[1]![999]]).toEqual([96000, 0.5, -0.5]);
  });

  test.each([
    [
      'cut short',
      aiffOf({ bits: 16, frames: 3000 }, many([0, 0])),
      '6000 bytes of samples, as its header says, found 1000 (5000 missing)',
    ],
    ['compressed', aiffOf({ bits: 16, frames: 1, type: 'ima4' }, [0, 0]), 'found one coded as "ima4"'],
    ['without samples', aiffOf({ bits: 16, frames: 0 }, []), 'expected a file with samples, found none'],
    ['of a channel too many', aiffOf({ bits: 16, frames: 1, channels: 9 }, many([0, 0])), '1 to 8 channels, found 9'],
    [
      'without a header',
      Uint8Array.from([...'FORM\0\0\0\0AIFF'].map((c) => c.charCodeAt(0))),
      'found none; copy or export',
    ],
  ])('one that is %s is refused', async (_, bytes, words) => {
    await expect(read(bytes)).rejects.toThrow(words);
  });
});

describe('CAF', () => {
  test.each([
    ['big-endian', 0, [0x80, 0, 0xff, 0xff, 0, 0, 0x40, 0], 16, [-1, -1 / 32768, 0, 0.5]],
    ['little-endian', 2, [0, 0x80, 0xff, 0xff, 0, 0, 0, 0x40], 16, [-1, -1 / 32768, 0, 0.5]],
    ['signed bytes', 0, [0x80, 0xff, 0, 0x40], 8, [-1, -1 / 128, 0, 0.5]],
    ['little-endian float', 3, [0, 0, 0x80, 0xbf, 0, 0, 0, 0x40, 0, 0, 0, 0, 0, 0, 0, 0x3f], 32, [-1, 2, 0, 0.5]],
  ])('%s', async (_, flags, bytes, bits, values) => {
    for (const declared of [undefined, -1]) {
      const audio = await read(cafOf({ bits, flags, ...(declared === undefined ? {} : { declared }) }, many(bytes)));
      expect([audio.sampleRate, ...start(audio.channels[0]!)]).toEqual([44100, ...values]);
    }
  });

  test('other codings and cut files are refused', async () => {
    await expect(read(cafOf({ bits: 16, flags: 0, coding: 'alac' }, [0, 0]))).rejects.toThrow(
      'coded as "alac"; export it',
    );
    await expect(read(cafOf({ bits: 16, flags: 0, declared: 900 }, [0, 0]))).rejects.toThrow('the file is cut short');
  });
});

describe('WAV', () => {
  const pcm = fmt({ tag: 1, bits: 16 });
  const values = many([1, -2, 3]);

  test('a chunk of odd length without its padding does not hide what follows', async () => {
    const list = [...'LIST'].map((c) => c.charCodeAt(0));
    const whole = wavOf([pcm, data(integerBytes(values, 16))]);
    const bytes = Uint8Array.from([...whole.subarray(0, 12), ...list, ...u32(3), 1, 2, 3, ...whole.subarray(12)]);
    expect(start((await read(bytes)).channels[0]!).slice(0, 3)).toEqual([1 / 32768, -2 / 32768, 3 / 32768]);
  });

  // EBU Tech 3285: 338 bytes of text come before the time reference, low word first.
  const bext = new Uint8Array(602);
  bext.set(u64(3600 * 48000 + 2 ** 33), 338);

  test('the time reference of a bext chunk counts samples since midnight, before or behind the samples', () => {
    const sound = data(integerBytes(values, 16));
    const wanted = 3600 * 48000 + 2 ** 33;
    expect(timeReferenceOf(wavOf([['bext', bext], pcm, sound]))).toBe(wanted);
    expect(timeReferenceOf(wavOf([pcm, sound, ['bext', bext]]))).toBe(wanted);
    expect(timeReferenceOf(wavOf([pcm, sound]))).toBe(null);
    const ds64 = ['ds64', Uint8Array.from([...u64(0), ...u64(values.length * 2), ...u64(0), ...u32(0)])] as const;
    const long = ['data', sound[1], 0xffffffff] as const;
    expect(timeReferenceOf(wavOf([ds64, pcm, long, ['bext', bext]], 'RF64', 0xffffffff))).toBe(wanted);
    expect(timeReferenceOf(Uint8Array.from(be(0, 40)))).toBe(null);
  });
});

const has = (tool: string): boolean => spawnSync(tool, ['--version']).error === undefined;
const folder = mkdtempSync(join(tmpdir(), 'tributary-'));
afterAll(() => rmSync(folder, { recursive: true }));

/** Stereo noise of `bits` in a WAV file that our writer made and its own tests hold to the format. */
const noise = (bits: 16 | 24) => {
  const channels = [1, 2].map((seed) => scaled(noiseIntegers(2001, bits, seed), bits));
  const path = join(folder, `noise-${bits}.wav`);
  writeFileSync(path, writeWav({ sampleRate: 44100, channels }, `${bits}`).bytes);
  return { path, channels };
};

// Independent writers, where this machine has them: what they wrote must come back sample by sample.
describe.runIf(has('ffmpeg'))('files that ffmpeg wrote', () => {
  test.each([
    ['aiff', 16, ['-c:a', 'pcm_s16be']],
    ['aiff', 24, ['-c:a', 'pcm_s24be']],
    ['aiff', 24, ['-c:a', 'pcm_s32be']],
    ['aiff', 24, ['-c:a', 'pcm_f32be']],
    ['aiff', 24, ['-c:a', 'pcm_f64be']],
    ['aiff', 16, ['-c:a', 'pcm_s16le']],
    ['caf', 16, ['-c:a', 'pcm_s16be']],
    ['caf', 16, ['-c:a', 'pcm_s16le']],
    ['caf', 24, ['-c:a', 'pcm_s24le']],
    ['caf', 24, ['-c:a', 'pcm_f32le']],
    ['wav', 16, ['-c:a', 'pcm_s16le', '-rf64', 'always']],
    ['wav', 24, ['-c:a', 'pcm_s24le', '-rf64', 'always']],
    ['wav', 24, ['-c:a', 'pcm_s32le']],
    ['wav', 24, ['-c:a', 'pcm_f64le']],
    ['wav', 16, ['-c:a', 'pcm_s16le', '-write_bext', '1', '-metadata', 'description=odd', '-metadata', 'title=odd']],
  ] as const)('%s of %i bit by %j', async (ending, bits, options) => {
    const { path, channels } = noise(bits);
    const out = join(folder, `out.${ending}`);
    execFileSync('ffmpeg', ['-v', 'error', '-y', '-i', path, ...options, out]);
    expect((await read(readFileSync(out))).channels).toEqual(channels);
  });

  test('the time reference that it writes is read', () => {
    const out = join(folder, 'bext.wav');
    const options = ['-write_bext', '1', '-metadata', 'time_reference=172800123'];
    execFileSync('ffmpeg', ['-v', 'error', '-y', '-i', noise(16).path, ...options, out]);
    expect(timeReferenceOf(readFileSync(out))).toBe(172800123);
  });
});

describe.runIf(has('sox'))('files that sox wrote', () => {
  test.each([
    ['aiff', 16, ['-b', '16']],
    ['aiff', 24, ['-b', '24']],
    ['aifc', 24, ['-b', '32']],
    ['caf', 24, ['-b', '24']],
    ['wav', 24, ['-b', '32']],
    ['wav', 24, ['-b', '24', '--comment', 'odd']],
  ] as const)('%s of %i bit by %j', async (ending, bits, options) => {
    const { path, channels } = noise(bits);
    const out = join(folder, `out.${ending}`);
    const { status, stderr } = spawnSync('sox', ['-V1', '-D', path, ...options, out]);
    // CAF needs a library that not every sox has.
    if (ending === 'caf' && status !== 0) return expect(String(stderr)).toContain('no handler');
    expect((await read(readFileSync(out))).channels).toEqual(channels);
  });
});
