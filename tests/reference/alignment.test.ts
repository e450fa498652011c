import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { alignmentOf } from '../../src/measure/match/alignment.ts';
import { heldChords, snareHits } from '../helpers/parts.ts';
import { added, pinkNoise, scaled } from '../helpers/signals.ts';

const SECONDS = 5.4;
const FRAMES = Math.round(SECONDS * 48_000);
const rmsOf = (sound: Float32Array): number => Math.sqrt(sound.reduce((sum, x) => sum + x * x, 0) / sound.length);
const later = (sound: Float32Array, samples: number): Float32Array => sound.map((_, n) => sound[n - samples] ?? 0);

/** Later by any part of a sample: a sinc under a Hann window of 128 samples. */
const laterBy = (sound: Float32Array, samples: number): Float32Array => {
  const whole = Math.floor(samples);
  const taps = Array.from({ length: 128 }, (_, m) => {
    const x = m - 63 - (samples - whole);
    const sinc = x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x);
    return sinc * (0.5 + 0.5 * Math.cos((Math.PI * x) / 65));
  });
  return sound.map((_, n) => taps.reduce((sum, tap, m) => sum + tap * (sound[n - whole - (m - 63)] ?? 0), 0));
};

/** The independent check: plain cross-correlation in time, a parabola through its greatest value and both neighbours. */
const correlatedLag = (first: Float32Array, second: Float32Array, most: number): number => {
  const at = (lag: number): number => {
    let sum = 0;
    for (let n = Math.max(0, lag); n < Math.min(second.length, first.length + lag); n++)
      sum += first[n - lag]! * second[n]!;
    return sum;
  };
  const values = new Map<number, number>();
  for (let lag = -most; lag <= most; lag++) values.set(lag, at(lag));
  const best = [...values].reduce((a, b) => (b[1] > a[1] ? b : a))[0];
  const [before, here, after] = [at(best - 1), at(best), at(best + 1)];
  return best + (before - after) / (2 * (before - 2 * here + after));
};

/** Other sound this far below the part that both have: 6 dB. */
const OTHER = 0.5;
const other = (seed: number, sound: Float32Array): Float32Array =>
  scaled(pinkNoise(SECONDS, seed, 1).slice(0, FRAMES), OTHER * rmsOf(sound));

const parts = [
  ['a snare', snareHits(SECONDS, 3)],
  ['held chords', heldChords(SECONDS)],
  ['noise', pinkNoise(SECONDS, 5, 0.1).slice(0, FRAMES)],
] as const;

describe.each(parts)('an exact copy of %s', (_, sound) => {
  test.each([0, 3, 10, 37, 200, -37])('%i samples late reads so, as plain cross-correlation does', (lag) => {
    const copy = scaled(later(sound, lag), -0.8);
    const found = alignmentOf(sound, copy)!;
    expect(found.lagSamples).toBe(lag);
    expect(found.polarity).toBe(-1);
    // A parabola is off by up to a tenth of a sample where the sound is bright. Two seconds of it are enough.
    const [first, second] = [sound, scaled(copy, -1)].map((each) => each.subarray(0, 2 * 48_000));
    expect(Math.abs(correlatedLag(first!, second!, 240) - lag)).toBeLessThan(0.2);
  });

  test('reads its lag whatever that is', () => {
    fc.assert(
      fc.property(fc.integer({ min: -600, max: 600 }), (lag) => {
        expect(alignmentOf(sound, later(sound, lag))!.lagSamples).toBe(lag);
      }),
      { numRuns: 8 },
    );
  });

  test('reads its lag beside other sound on both sides', () => {
    const [mine, theirs] = [other(31, sound), other(77, sound)];
    for (const lag of [3, 10, 37, 200, 240]) {
      const found = alignmentOf(added(sound, mine), added(scaled(later(sound, lag), 0.8), theirs))!;
      expect(found.lagSamples, `${lag} late`).toBe(lag);
    }
  });

  // 5 ms at 44.1 kHz, and parts of a sample; the interpolation of the copy itself is good to some thousandths.
  test.each([220.5, 7.3])('%f samples late reads so to two hundredths', (lag) => {
    expect(Math.abs(alignmentOf(sound, laterBy(sound, lag))!.lagSamples - lag)).toBeLessThan(0.021);
  });
});

// A sum of sines that is written down later is later exactly, whatever the part of a sample: no interpolation.
describe('steady tones', () => {
  const tones = (hertz: readonly number[], lag: number): Float32Array =>
    Float32Array.from({ length: 3 * 48_000 }, (_, n) =>
      hertz.reduce((sum, hz) => sum + 0.1 * Math.sin((2 * Math.PI * hz * (n - lag)) / 48_000), 0),
    );

  test.each([30.5, 140.3, 200.25, -61])('a held chord %f samples late reads so, to a hundredth', (lag) => {
    const chord = [220, 277.2, 329.6];
    const found = alignmentOf(tones(chord, 0), tones(chord, lag))!;
    expect(found.lagSamples).toBe(lag);
    expect(found.repeats).toBeUndefined();
  });

  test('a single tone reads the nearest lag upright, and says that half a period more, inverted, fits as well', () => {
    const [hz, lag] = [203.7, 140.3];
    const found = alignmentOf(tones([hz], 0), tones([hz], lag))!;
    expect(found.lagSamples).toBeCloseTo(lag - 48_000 / hz, 1);
    expect(found.polarity).toBe(1);
    expect(found.repeats).toBeCloseTo(24_000 / hz, 1);
  });
});
