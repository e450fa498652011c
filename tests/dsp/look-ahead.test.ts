import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { LookAhead } from '../../src/dsp/dynamics/look-ahead.ts';
import { MovingAverage } from '../../src/dsp/core/moving-average.ts';
import { SlidingMaximum } from '../../src/dsp/core/sliding-maximum.ts';
import { TRUE_PEAK_LATENCY, TruePeakDetector } from '../../src/dsp/dynamics/true-peak-detector.ts';
import { truePeakIn } from '../../src/measure/peaks/true-peak.ts';
import { noise } from '../helpers/chains.ts';

const values = fc.array(fc.double({ min: 0, max: 20, noNaN: true }), { minLength: 1, maxLength: 200 });
const lengths = fc.integer({ min: 1, max: 60 });

/** What a part makes of `input`, in blocks of at most `block`. */
const ran = (
  part: { process(samples: Float64Array, count: number): void },
  input: readonly number[],
  block: number,
): readonly number[] =>
  Array.from({ length: Math.ceil(input.length / block) }, (_, n) => {
    const piece = Float64Array.from(input.slice(n * block, (n + 1) * block));
    part.process(piece, piece.length);
    return [...piece];
  }).flat();

describe('sliding maximum', () => {
  test('is the greatest of the last values, whatever the blocks', () => {
    fc.assert(
      fc.property(values, lengths, lengths, (input, length, block) => {
        const expected = input.map((_, n) => Math.max(...input.slice(Math.max(0, n - length + 1), n + 1)));
        expect(ran(new SlidingMaximum(length), input, block)).toEqual(expected);
      }),
    );
  });

  test('starts from what it is told stood before', () => {
    expect(ran(new SlidingMaximum(3, -5), [-9, -8, -7, -9], 4)).toEqual([-5, -5, -7, -7]);
  });
});

describe('moving average', () => {
  test('weighs by a triangle', () => {
    const weights = ran(new MovingAverage(7), [16, 0, 0, 0, 0, 0, 0, 0], 8);
    expect(weights).toEqual([1, 2, 3, 4, 3, 2, 1, 0]);
  });

  test('of what is steady is exactly that, and exactly 0 after it, however long it ran', () => {
    fc.assert(
      fc.property(values, lengths, (input, length) => {
        const steady = Array.from({ length }, () => 0.75);
        const silent = Array.from({ length }, () => 0);
        const output = ran(new MovingAverage(length), [...input, ...steady, ...silent], 64);
        expect(output[input.length + length - 1]).toBe(0.75);
        expect(output.at(-1)).toBe(0);
      }),
    );
  });
});

test('look-ahead has reached every peak when it arrives, and one sample to either side', () => {
  fc.assert(
    fc.property(values, lengths, (input, samples) => {
      const output = ran(new LookAhead(samples), [...input, ...Array.from({ length: samples + 1 }, () => 0)], 64);
      input.forEach((value, n) => {
        for (const near of [Math.max(0, n - 1), n, n + 1])
          expect(output[near + samples]!).toBeGreaterThanOrEqual(value);
      });
    }),
  );
});

describe('true-peak detector', () => {
  /** Sound without the top of the band, where meters differ: the mean of two neighbours, twice. */
  const sound = (seed: number): Float64Array => {
    const { left } = noise(2000, seed);
    return left.map((x, n) => (x + 2 * (left[n - 1] ?? 0) + (left[n - 2] ?? 0)) / 4);
  };

  test('finds in every stretch what the meter finds there', () => {
    for (const seed of [1, 2, 3]) {
      const input = sound(seed);
      const padded = [...input, ...new Float64Array(TRUE_PEAK_LATENCY)];
      const detector = new TruePeakDetector();
      const peaks = Float64Array.from(
        Array.from({ length: padded.length / 8 }, (_, n) => {
          const found = new Float64Array(8);
          detector.process(Float64Array.from(padded.slice(8 * n, 8 * n + 8)), 8, 0, found);
          return [...found];
        }).flat(),
      ).slice(TRUE_PEAK_LATENCY);
      for (let from = 100; from < 1800; from += 100) {
        const { value } = truePeakIn(Float32Array.from(input), 0, from, from + 100)!;
        const found = Math.max(...peaks.slice(from, from + 100));
        // A peak on the border of the stretch may be counted on either side of it.
        const wider = Math.max(...peaks.slice(from - 1, from + 101));
        expect(wider / value).toBeGreaterThan(0.999);
        expect(found / value).toBeLessThan(1.004);
      }
    }
  });

  test('may stop looking below its floor, but never misses what is above', () => {
    const input = sound(4);
    const all = new Float64Array(2000);
    const some = new Float64Array(2000);
    for (const [peaks, floor] of [
      [all, 0],
      [some, 0.5],
    ] as const) {
      const detector = new TruePeakDetector();
      for (let from = 0; from < 2000; from += 50) {
        const found = new Float64Array(50);
        detector.process(input.slice(from, from + 50), 50, floor, found);
        peaks.set(found, from);
      }
    }
    expect(all.filter((peak) => peak > 0.5).length).toBeGreaterThan(10);
    all.forEach((peak, n) => {
      if (peak > 0.5) expect(some[n]).toBe(peak);
    });
  });
});
