import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { FULL_SCALE } from '../../src/measure/levels.ts';
import { levelsOf } from '../helpers/meters.ts';

const clipped = (...samples: number[]): number => levelsOf([Float32Array.from(samples)]).clippedSamples;

describe('clipped samples', () => {
  test('are those in runs of two or more at full scale', () => {
    expect(clipped(0, 1, 1, 1, 0.5, -1, -1, 0)).toBe(5);
  });

  test('a single sample at full scale is not clipped, nor one on either side of zero', () => {
    expect(clipped(0, 1, 0, -1, 0)).toBe(0);
    expect(clipped(0, 1, -1, 1, 0)).toBe(0);
  });

  test('runs at the very beginning and end count', () => {
    expect(clipped(1, 1, 0, -1, -1)).toBe(4);
    expect(clipped(1, 1)).toBe(2);
    expect(clipped(1)).toBe(0);
  });

  test('the greatest value of 16 bits is full scale, the next below is not', () => {
    expect(clipped(0, FULL_SCALE, FULL_SCALE, 0)).toBe(2);
    expect(clipped(0, 32766 / 32768, 32766 / 32768, 0)).toBe(0);
  });

  test('values beyond full scale count like those at it', () => {
    expect(clipped(0, 1.5, 2, 0)).toBe(2);
  });

  test('add up over channels, and a run does not cross from one channel to the next', () => {
    expect(levelsOf([Float32Array.of(0, 1, 1), Float32Array.of(1, 0, 0)]).clippedSamples).toBe(2);
  });
});

describe('levels', () => {
  const channels = fc
    .array(fc.array(fc.double({ min: -2, max: 2, noNaN: true }), { minLength: 8, maxLength: 8 }), {
      minLength: 1,
      maxLength: 4,
    })
    .map((lists) => lists.map((list) => Float32Array.from(list)));

  test('the rms never exceeds the peak, nor the size of the mean the rms of its channel', () => {
    fc.assert(
      fc.property(channels, (sound) => {
        const { peak, meanSquare, dcOffset } = levelsOf(sound);
        expect(Math.sqrt(meanSquare)).toBeLessThanOrEqual(peak + 1e-12);
        expect(Math.abs(dcOffset)).toBeLessThanOrEqual(peak + 1e-12);
      }),
    );
  });

  test('inverting everything turns the offset and nothing else', () => {
    fc.assert(
      fc.property(channels, (sound) => {
        const { dcOffset, ...rest } = levelsOf(sound);
        const { dcOffset: turned, ...others } = levelsOf(sound.map((samples) => samples.map((x) => -x)));
        expect(others).toEqual(rest);
        expect(Math.abs(turned)).toBe(Math.abs(dcOffset));
      }),
    );
  });

  test('offsets of two channels do not hide each other', () => {
    expect(levelsOf([new Float32Array(100).fill(0.1), new Float32Array(100).fill(-0.2)]).dcOffset).toBeCloseTo(-0.2, 6);
  });
});
