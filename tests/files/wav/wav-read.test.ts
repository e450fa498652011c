import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { wavLayoutOf } from '../../../src/files/wav/wav-layout.ts';
import { readWav } from '../../../src/files/wav/wav-read.ts';
import { ProblemError } from '../../../src/session/problem.ts';
import { data, extensible, floatBytes, fmt, integerBytes, u16, u32, u64, wavOf } from '../wav-bytes.ts';
import { casesOf } from '../../helpers/soak.ts';

const samplesOf = (bytes: Uint8Array): number[][] =>
  readWav(bytes, 'take.wav').channels.map((channel) => Array.from(channel));

/** The one sentence of the refusal. */
function refusal(bytes: Uint8Array): string {
  try {
    readWav(bytes, 'take.wav');
  } catch (error) {
    expect(error).toBeInstanceOf(ProblemError);
    return (error as ProblemError).message;
  }
  throw new Error('the file was read');
}

const pcm16 = fmt({ tag: 1, bits: 16 });
const three = integerBytes([1, -2, 3], 16);
const scaledThree = [1 / 32768, -2 / 32768, 3 / 32768];

describe('sample formats', () => {
  test.each([16, 24, 32])('%i bit integers are divided by 2^(bits-1) exactly, both extremes included', (bits) => {
    const scale = 2 ** (bits - 1);
    const values = [-scale, -1, 0, 1, scale / 2, scale - 1];
    const bytes = wavOf([fmt({ tag: 1, bits }), data(integerBytes(values, bits))]);
    expect(samplesOf(bytes)).toEqual([values.map((value) => Math.fround(value / scale))]);
  });

  test('8 bit is unsigned with 128 as zero', () => {
    const bytes = wavOf([fmt({ tag: 1, bits: 8 }), data([0, 128, 255])]);
    expect(samplesOf(bytes)).toEqual([[-1, 0, 127 / 128]]);
  });

  test.each([32, 64] as const)('%i bit float keeps values beyond full scale', (bits) => {
    const bytes = wavOf([fmt({ tag: 3, bits }), data(floatBytes([0.1, -1.5, 4], bits))]);
    expect(samplesOf(bytes)).toEqual([[0.1, -1.5, 4].map(Math.fround)]);
  });

  test('the extensible header gives the same samples as the plain one, for integers and float', () => {
    const integers = data(integerBytes([-5, 70000, 8388607], 24));
    const floats = data(floatBytes([0.25, -0.75], 32));
    expect(samplesOf(wavOf([extensible({ tag: 1, bits: 24 }), integers]))).toEqual(
      samplesOf(wavOf([fmt({ tag: 1, bits: 24 }), integers])),
    );
    expect(samplesOf(wavOf([extensible({ tag: 3, bits: 32 }), floats]))).toEqual([[0.25, -0.75]]);
  });

  test('20 valid bits in 24 stand in the upper bits, so the scale stays that of 24', () => {
    const bytes = wavOf([extensible({ tag: 1, bits: 24 }, 20), data(integerBytes([0x7ffff0, -0x800000], 24))]);
    expect(samplesOf(bytes)).toEqual([[0x7ffff0 / 0x800000, -1]]);
  });

  test('channels are taken apart frame by frame', () => {
    const bytes = wavOf([fmt({ tag: 1, bits: 16, channels: 3 }), data(integerBytes([1, 2, 3, 4, 5, 6], 16))]);
    expect(samplesOf(bytes)).toEqual(
      [
        [1, 4],
        [2, 5],
        [3, 6],
      ].map((channel) => channel.map((value) => value / 32768)),
    );
  });

  test('the layout tells word length and coding', () => {
    const bytes = wavOf([fmt({ tag: 1, bits: 24, channels: 2, sampleRate: 96000 }), data(new Uint8Array(12))]);
    const format = { encoding: 'integer', bits: 24, channels: 2, sampleRate: 96000 };
    expect(wavLayoutOf(bytes, 'take.wav')).toEqual({ format, start: 44, bytes: 12 });
  });

  test('any 24 bit sample comes back as the integer that was written', () => {
    const integer = fc.integer({ min: -0x800000, max: 0x7fffff });
    fc.assert(
      fc.property(fc.array(integer, { minLength: 1, maxLength: 50 }), (values) => {
        const read = samplesOf(wavOf([fmt({ tag: 1, bits: 24 }), data(integerBytes(values, 24))]))[0]!;
        expect(read.map((x) => Math.round(x * 0x800000) + 0)).toEqual(values.map((x) => x + 0));
      }),
      { numRuns: 50 },
    );
  });
});

describe('chunks', () => {
  test('stand in any order, unknown ones are skipped, odd ones are padded', () => {
    const odd = ['LIST', Uint8Array.of(1, 2, 3)] as const;
    expect(samplesOf(wavOf([odd, pcm16, ['bext', new Uint8Array(602)], data(three), odd]))).toEqual([scaledThree]);
    expect(samplesOf(wavOf([data(three), odd, pcm16]))).toEqual([scaledThree]);
  });

  test('an incomplete last frame is left out', () => {
    expect(samplesOf(wavOf([pcm16, data([...three, 9])]))).toEqual([scaledThree]);
  });

  test.each(['RF64', 'BW64'])('%s takes its data size from ds64', (form) => {
    const sizes = Uint8Array.from([...u64(0), ...u64(three.length), ...u64(3), ...u32(0)]);
    const file = wavOf(
      [['ds64', sizes], pcm16, data(three, 0xffffffff), ['LIST', new Uint8Array(8)]],
      form,
      0xffffffff,
    );
    expect(samplesOf(file)).toEqual([scaledThree]);
  });

  test('a file inside a larger buffer is read from its own place', () => {
    const file = wavOf([pcm16, data(three)]);
    const buffer = new Uint8Array(file.length + 7);
    buffer.set(file, 7);
    expect(samplesOf(buffer.subarray(7))).toEqual([scaledThree]);
  });
});

describe('files written to a pipe count to their end', () => {
  test.each([
    ['all ones', 0xffffffff, 0xffffffff],
    ['nothing', 0, 0],
    ['the largest positive number', 0x80000023, 0x7fffffff],
    ['a rounded maximum', 0x7ffff024, 0x7ffff000],
    ['a rounded maximum of 3 byte frames', 0x7ffff048, 0x7fffefff],
  ])('sizes of %s', (_, riffSize, dataSize) => {
    expect(samplesOf(wavOf([pcm16, data(three, dataSize)], 'RIFF', riffSize))).toEqual([scaledThree]);
  });

  test('RF64 with an empty ds64', () => {
    const file = wavOf([['ds64', new Uint8Array(28)], pcm16, data(three, 0xffffffff)], 'RF64', 0xffffffff);
    expect(samplesOf(file)).toEqual([scaledThree]);
  });
});

describe('one clear sentence for what cannot be read', () => {
  test('a truncated file says how many bytes are missing', () => {
    const whole = wavOf([pcm16, data(new Uint8Array(1000))]);
    expect(refusal(whole.subarray(0, 44 + 300))).toBe(
      'take.wav cannot be read: expected 1000 bytes of samples, as its header says, ' +
        'found 300 (700 missing): the file is cut short, so copy or export it again.',
    );
  });

  test('a truncated RF64 file too', () => {
    const sizes = Uint8Array.from([...u64(0), ...u64(5e9), ...u64(0), ...u32(0)]);
    const file = wavOf([['ds64', sizes], pcm16, data(three, 0xffffffff)], 'RF64', 0xffffffff);
    expect(refusal(file)).toContain('found 6 (4999999994 missing)');
  });

  test.each([
    ['an empty file', new Uint8Array(0), 'expected a WAV file, found an empty file'],
    ['text', new TextEncoder().encode('these are notes, not samples'), 'found a file of another kind'],
    ['a header alone', wavOf([]), 'expected a WAV file with a format chunk, found none'],
    ['no format', wavOf([data(three)]), 'expected a WAV file with a format chunk, found none'],
    ['no samples', wavOf([pcm16]), 'expected a WAV file with samples, found no data chunk'],
    ['a format chunk cut short', wavOf([['fmt ', Uint8Array.of(1, 0)], data(three)]), 'whole format chunk'],
    ['zero frames', wavOf([pcm16, data([])]), 'expected a WAV file with samples, found none'],
    ['mu-law', wavOf([fmt({ tag: 7, bits: 8 }), data(three)]), 'found one coded as mu-law'],
    ['an unknown tag', wavOf([fmt({ tag: 777, bits: 16 }), data(three)]), 'found one coded as format tag 777'],
    ['no channels', wavOf([fmt({ tag: 1, bits: 16, channels: 0 }), data(three)]), '1 to 8 channels, found 0'],
    ['nine channels', wavOf([fmt({ tag: 1, bits: 16, channels: 9 }), data(three)]), '1 to 8 channels, found 9'],
    [
      'a rate of 1 Hz',
      wavOf([fmt({ tag: 1, bits: 16, sampleRate: 1 }), data(three)]),
      'from 8000 to 384000 Hz, found 1 Hz',
    ],
    ['a rate of 1 MHz', wavOf([fmt({ tag: 1, bits: 16, sampleRate: 1e6 }), data(three)]), 'found 1000000 Hz'],
    ['16 bit float', wavOf([fmt({ tag: 3, bits: 16 }), data(three)]), 'float samples of 32 or 64 bits, found 16 bits'],
    ['40 bit integers', wavOf([fmt({ tag: 1, bits: 40 }), data(three)]), 'of 8, 16, 24 or 32 bits, found 40 bits'],
  ])('%s', (_, bytes, sentence) => {
    expect(refusal(bytes)).toContain(sentence);
  });

  test('an unknown sub-format', () => {
    const [id, body] = extensible({ tag: 1, bits: 16 });
    body[39] = 0;
    expect(refusal(wavOf([[id, body], data(three)]))).toContain('found one coded as an unknown sub-format');
  });

  test.each([NaN, Infinity, -Infinity])('%d among the samples is named with its place', (value) => {
    const samples = floatBytes([0, 0, 0.5, 0, 0, value, 0, 0], 32);
    const file = wavOf([fmt({ tag: 3, bits: 32, channels: 2 }), data(samples)]);
    expect(refusal(file)).toContain(`samples that are finite numbers, found ${value} at sample 2 of channel 2`);
  });

  test('a 64 bit value beyond the range of 32 bit float counts as infinite', () => {
    expect(refusal(wavOf([fmt({ tag: 3, bits: 64 }), data(floatBytes([1e300], 64))]))).toContain(
      'Infinity at sample 0',
    );
  });
});

test('no damage to a header brings anything but a refusal or samples', () => {
  const file = wavOf([
    ['LIST', new Uint8Array(5)],
    extensible({ tag: 1, bits: 24 }),
    data(integerBytes([1, 2, 3], 24)),
  ]);
  const flip = fc.tuple(fc.nat(file.length - 1), fc.integer({ min: 1, max: 255 }));
  fc.assert(
    fc.property(fc.array(flip, { maxLength: 6 }), fc.nat(file.length), (flips, length) => {
      const bytes = file.slice();
      for (const [at, mask] of flips) bytes[at]! ^= mask;
      try {
        const audio = readWav(bytes.subarray(0, length), 'take.wav');
        expect(audio.channels.length).toBeGreaterThan(0);
        expect(audio.channels.every((channel) => channel.length > 0 && channel.every(Number.isFinite))).toBe(true);
      } catch (error) {
        expect(error).toBeInstanceOf(ProblemError);
        expect((error as Error).message).not.toMatch(/undefined|NaN bits|\n/);
      }
    }),
    { numRuns: casesOf(400, 4000) },
  );
});

test('helpers write little-endian', () => {
  expect([...u16(0x0102), ...u32(0x80000001)]).toEqual([2, 1, 1, 0, 0, 0x80]);
});
