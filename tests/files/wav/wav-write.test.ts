import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { wavLayoutOf } from '../../../src/files/wav/wav-layout.ts';
import { readWav } from '../../../src/files/wav/wav-read.ts';
import { writeWav, type WavBits } from '../../../src/files/wav/wav-write.ts';
import { difference, noiseIntegers, rmsDb, scaled, sine } from '../signals.ts';

const stereo = { sampleRate: 44100, channels: [sine(997, 44100, 4410, 0.5), sine(1499, 44100, 4410, 0.25)] };
const text = (bytes: Uint8Array, at: number): string => String.fromCharCode(...bytes.subarray(at, at + 4));
const u32 = (bytes: Uint8Array, at: number): number => new DataView(bytes.buffer).getUint32(at, true);
const u16 = (bytes: Uint8Array, at: number): number => new DataView(bytes.buffer).getUint16(at, true);

describe('float', () => {
  test('comes back bit for bit, values beyond full scale included', () => {
    const values = fc.float32Array({ minLength: 1, maxLength: 64, noNaN: true, noDefaultInfinity: true });
    fc.assert(
      fc.property(values, fc.integer({ min: 1, max: 8 }), (channel, count) => {
        const channels = Array.from({ length: count }, (_, c) => channel.map((x) => x / (c + 1)));
        const written = writeWav({ sampleRate: 48000, channels }, '32f');
        expect(readWav(written.bytes, 'x.wav')).toEqual({ sampleRate: 48000, channels });
        expect(written.limitedSamples).toBe(0);
      }),
      { numRuns: 50 },
    );
  });
});

describe('integers', () => {
  test.each([
    ['16', -96.3296],
    ['24', -144.4944],
  ] as const)('%s bit: what is lost is the dithered rounding error and no more, %d dB', (bits, expected) => {
    const back = readWav(writeWav(stereo, bits).bytes, 'x.wav');
    for (const [c, channel] of back.channels.entries()) {
      // The 24 bit error is near the resolution of the float32 source, hence half a decibel rather than less.
      expect(Math.abs(rmsDb(difference(channel, stereo.channels[c]!)) - expected)).toBeLessThan(0.5);
    }
  });

  test.each(['16', '24'] as const)('%s bit material at that word length goes out bit for bit', (bits) => {
    const channel = scaled(noiseIntegers(5000, Number(bits), 9), Number(bits));
    const back = readWav(writeWav({ sampleRate: 48000, channels: [channel] }, bits).bytes, 'x.wav');
    expect(back.channels[0]).toEqual(channel);
  });

  test('+1.0 clips and is counted, -1.0 fits, and so does the largest integer', () => {
    const channel = Float32Array.of(1, -1, 32767 / 32768, 1.5, -1.5, 0);
    const written = writeWav({ sampleRate: 48000, channels: [channel, channel] }, '16');
    expect(written.limitedSamples).toBe(6);
    const back = readWav(written.bytes, 'x.wav').channels[0]!;
    expect(back[0]).toBe(32767 / 32768);
    expect(back[3]).toBe(32767 / 32768);
    expect(back[4]).toBe(-1);
  });

  test('the same audio and seed give the same bytes, another seed gives another dither', () => {
    expect(writeWav(stereo, '16').bytes).toEqual(writeWav(stereo, '16', { seed: 1 }).bytes);
    expect(writeWav(stereo, '16').bytes).not.toEqual(writeWav(stereo, '16', { seed: 2 }).bytes);
  });

  test('the dither of the channels is independent', () => {
    const channel = sine(997, 48000, 48000);
    const back = readWav(writeWav({ sampleRate: 48000, channels: [channel, channel] }, '16').bytes, 'x.wav');
    const [left, right] = back.channels.map((quantised) => difference(quantised, channel));
    const product = left!.reduce((sum, x, i) => sum + x * right![i]!, 0);
    const energy = left!.reduce((sum, x) => sum + x * x, 0);
    expect(Math.abs(product / energy)).toBeLessThan(0.02); // 4.4 standard deviations of chance at 48000 samples
  });
});

describe('header', () => {
  test('16 bit stereo: plain format of 16 bytes, sizes that fit the file', () => {
    const { bytes } = writeWav(stereo, '16');
    expect([text(bytes, 0), text(bytes, 8), text(bytes, 12), text(bytes, 36)]).toEqual([
      'RIFF',
      'WAVE',
      'fmt ',
      'data',
    ]);
    expect([u32(bytes, 4), u32(bytes, 40), bytes.length]).toEqual([bytes.length - 8, 17640, 44 + 17640]);
    expect([u16(bytes, 20), u16(bytes, 22), u32(bytes, 24), u32(bytes, 28), u16(bytes, 32), u16(bytes, 34)]).toEqual([
      1, 2, 44100, 176400, 4, 16,
    ]);
  });

  test('24 bit mono of 4805 frames: extensible, front centre, pad byte outside the chunk size', () => {
    const { bytes } = writeWav({ sampleRate: 48000, channels: [new Float32Array(4805)] }, '24');
    expect([u16(bytes, 20), u16(bytes, 36), u16(bytes, 38), u32(bytes, 40), u16(bytes, 44)]).toEqual([
      0xfffe, 22, 24, 4, 1,
    ]);
    expect(u32(bytes, 64)).toBe(14415);
    expect(bytes.length).toBe(68 + 14415 + 1);
    expect(u32(bytes, 4)).toBe(bytes.length - 8);
  });

  test('float stereo: tag 3, a format chunk of 18 bytes with an empty extension, and a fact chunk with the frames', () => {
    const { bytes } = writeWav(stereo, '32f');
    expect([u32(bytes, 16), u16(bytes, 20), u16(bytes, 34), u16(bytes, 36)]).toEqual([18, 3, 32, 0]);
    expect([text(bytes, 38), u32(bytes, 42), u32(bytes, 46)]).toEqual(['fact', 4, 4410]);
    expect([text(bytes, 50), u32(bytes, 54), bytes.length]).toEqual(['data', 35280, 58 + 35280]);
  });

  test('every word length and channel count is read back as what it is', () => {
    for (const bits of ['16', '24', '32f'] satisfies WavBits[]) {
      for (const count of [1, 2, 6, 8]) {
        const channels = Array.from({ length: count }, () => new Float32Array(7));
        const { format } = wavLayoutOf(writeWav({ sampleRate: 96000, channels }, bits).bytes, 'x.wav');
        const encoding = bits === '32f' ? 'float' : 'integer';
        expect(format).toEqual({ encoding, bits: parseInt(bits), channels: count, sampleRate: 96000 });
      }
    }
  });

  test('no channel, or more than eight, is a mistake of the caller', () => {
    expect(() => writeWav({ sampleRate: 48000, channels: [] }, '16')).toThrow(RangeError);
    const nine = Array.from({ length: 9 }, () => new Float32Array(1));
    expect(() => writeWav({ sampleRate: 48000, channels: nine }, '32f')).toThrow(RangeError);
  });
});
