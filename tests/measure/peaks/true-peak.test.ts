import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { decibelsOf } from '../../../src/audio/decibels.ts';
import { PHASES, REACH, valueAt } from '../../../src/measure/peaks/interpolation.ts';
import { truePeakIn, truePeakOf } from '../../../src/measure/peaks/true-peak.ts';
import { joined, scaled, silence, sine, whiteNoise } from '../../helpers/signals.ts';
import { sounds } from '../../helpers/sounds.ts';
import { casesOf } from '../../helpers/soak.ts';

/** Every one of the 32 steps between all samples. */
function everyStep(samples: Float32Array): number {
  const padded = new Float64Array(samples.length + 2 * REACH + 2);
  padded.set(samples, REACH + 1);
  let peak = 0;
  for (let position = REACH * PHASES; position <= (REACH + 1 + samples.length) * PHASES; position++) {
    peak = Math.max(peak, Math.abs(valueAt(padded, position)));
  }
  return peak;
}

describe('the true peak', () => {
  test('is what all 32 steps between all samples have at most, though few are computed', () => {
    fc.assert(
      fc.property(sounds, (samples) => {
        const expected = everyStep(samples);
        const { value } = truePeakOf([samples]);
        if (expected === 0) expect(value).toBe(0);
        // A climb by halved steps may end one step beside the greatest: never more than 0.01 dB below it.
        else expect(Math.abs(decibelsOf(value / expected))).toBeLessThan(0.01);
      }),
      { numRuns: casesOf(100, 800) },
    );
  });

  test('is never below the sample peak, and a gain scales it', () => {
    fc.assert(
      fc.property(sounds, fc.double({ min: 0.01, max: 4, noNaN: true }), (samples, gain) => {
        const { value } = truePeakOf([samples]);
        expect(value).toBeGreaterThanOrEqual(samples.reduce((peak, x) => Math.max(peak, Math.abs(x)), 0));
        expect(truePeakOf([scaled(samples, -gain)]).value).toBeCloseTo(gain * value, 5);
      }),
    );
  });

  test('stays the same behind any silence, and is found as much later', () => {
    const noise = whiteNoise(0.05, 1);
    const { value, frame } = truePeakOf([noise]);
    for (const frames of [1, 17, 255, 256, 257, 1000]) {
      const later = truePeakOf([joined(new Float32Array(frames), noise)]);
      expect(later.value).toBeCloseTo(value, 9);
      expect(later.frame).toBe(frame + frames);
    }
  });

  test('of one sample is the sample', () => {
    expect(truePeakOf([Float32Array.of(-0.5)])).toEqual({ value: 0.5, channel: 0, frame: 0 });
  });

  test('of silence and of nothing is 0', () => {
    expect(truePeakOf([silence(0.1)]).value).toBe(0);
    expect(truePeakOf([new Float32Array(0)]).value).toBe(0);
    expect(truePeakOf([]).value).toBe(0);
  });

  test('names the channel and the place between the samples', () => {
    const tone = sine({ hz: 12000, seconds: 0.02, phase: Math.PI / 4 });
    const louder = scaled(tone, 1.5);
    const { channel, frame } = truePeakOf([tone, louder]);
    expect(channel).toBe(1);
    expect(frame % 1).not.toBe(0);
  });

  test('samples that are not numbers do not keep it from ending', () => {
    const broken = whiteNoise(0.05, 2);
    broken[700] = Number.NaN;
    broken[900] = Number.POSITIVE_INFINITY;
    expect(truePeakOf([broken]).value).toBe(Infinity);
  });
});

describe('the true peak of a range', () => {
  test('ranges that tile a sound have its true peak between them, and each knows its own', () => {
    fc.assert(
      fc.property(sounds, fc.integer({ min: 0, max: 700 }), (samples, cut) => {
        const middle = Math.min(cut, samples.length);
        const first = truePeakIn(samples, 0, -1, middle)?.value ?? 0;
        const second = truePeakIn(samples, 0, middle, samples.length)?.value ?? 0;
        expect(Math.max(first, second)).toBeCloseTo(truePeakOf([samples]).value, 2);
      }),
    );
  });

  test('what does not exceed the floor is not reported', () => {
    const noise = whiteNoise(0.1, 3);
    const { value } = truePeakOf([noise]);
    expect(truePeakIn(noise, value)).toBeNull();
    expect(truePeakIn(noise, value * 0.999)!.value).toBe(value);
  });
});
