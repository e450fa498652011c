import { describe, expect, test } from 'vitest';
import { placedSound, wholeOf } from '../../src/audio/audio.ts';
import { resample, resampled } from '../../src/audio/resample.ts';
import { areSameSamples, lastOf, placedSamples, STRETCH, type Samples } from '../../src/audio/samples.ts';
import { expectSameSamples } from '../helpers/same-samples.ts';
import { stereo, whiteNoise } from '../helpers/signals.ts';

/** Samples that are no array, and count the longest stretch that is asked for. */
class Elsewhere implements Samples {
  longest = 0;
  constructor(private readonly samples: Float32Array) {}
  get length(): number {
    return this.samples.length;
  }
  subarray(from: number, to: number): Float32Array {
    this.longest = Math.max(this.longest, to - from);
    return this.samples.slice(from, to);
  }
}

const noise = whiteNoise(2, 1);
const pieces = (samples: Samples, step: number): Float32Array => {
  const out = new Float32Array(samples.length);
  for (let from = 0; from < out.length; from += step)
    out.set(samples.subarray(from, Math.min(out.length, from + step)), from);
  return out;
};

describe('samples that are read in stretches', () => {
  test('placed stand where they are placed, silent around, read in whatever pieces', () => {
    for (const [start, length] of [
      [0, noise.length],
      [-500, 1000],
      [700, 2000],
      [700, noise.length + 900],
      [-noise.length, 100],
      [5000, 4000],
    ] as const) {
      const expected = Float32Array.from({ length }, (_, n) => noise[n - start] ?? 0);
      expectSameSamples(placedSamples(noise, start, length), expected);
      for (const step of [33, 1024, length])
        expectSameSamples(pieces(placedSamples(new Elsewhere(noise), start, length), step), expected);
    }
  });

  test('are the same where they are the same stretch of the same samples', () => {
    for (const samples of [noise, new Elsewhere(noise)]) {
      const cut = placedSamples(samples, -10, 500);
      expect(areSameSamples(cut, placedSamples(samples, -10, 500))).toBe(true);
      expect(areSameSamples(cut, placedSamples(samples, -11, 500))).toBe(false);
      expect(areSameSamples(cut, placedSamples(samples, -10, 501))).toBe(false);
      expect(areSameSamples(placedSamples(cut, 0, 100), placedSamples(cut, 0, 100))).toBe(true);
    }
    expect(areSameSamples(noise, noise.slice())).toBe(false);
  });

  test('are looked through backwards for the last that is heard, a stretch at a time', () => {
    const samples = new Float32Array(5 * STRETCH + 3);
    samples[STRETCH + 7] = 1;
    const elsewhere = new Elsewhere(samples);
    expect(lastOf(elsewhere, 0, (x) => x !== 0)).toBe(STRETCH + 8);
    expect(elsewhere.longest).toBe(STRETCH);
    expect(lastOf(elsewhere, STRETCH + 8, (x) => x !== 0)).toBe(STRETCH + 8);
    expect(lastOf(elsewhere, 2 * STRETCH, (x) => x !== 0)).toBe(2 * STRETCH);
  });

  test.each([
    [48_000, 44_100],
    [44_100, 48_000],
    [48_000, 96_000],
    [48_000, 47_999],
  ])('are the same bit for bit from %i to %i Hz, whatever the pieces', (from, to) => {
    const audio = { sampleRate: from, channels: [noise] };
    const [whole] = resample(audio, to).channels;
    const elsewhere = new Elsewhere(noise);
    const [read] = resampled({ sampleRate: from, channels: [elsewhere] }, to).channels;
    for (const step of [997, 8192]) expectSameSamples(pieces(read!, step), whole!);
    expect(elsewhere.longest).toBeLessThan(10_000);
  });

  test('come whole into memory where they are asked for so, and stay themselves where they are there', () => {
    const sound = stereo(noise);
    expect(wholeOf(sound)).toBe(sound);
    const [left] = wholeOf(placedSound({ ...sound, channels: [new Elsewhere(noise)] }, 3, 50)).channels;
    expect(left).toEqual(Float32Array.from({ length: 50 }, (_, n) => noise[n - 3] ?? 0));
  });
});
