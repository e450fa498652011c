import { describe, expect, it } from 'vitest';
import { halfBandTaps } from '../../src/dsp/filters/half-band.ts';
import { Oversampler, oversamplingLatency } from '../../src/dsp/distortion/oversampling.ts';
import { CONTROL_FRAMES } from '../../src/dsp/core/processor.ts';

const RATES = [22050, 44100, 48000, 88200, 96000, 192000];

/** Up and back down with nothing in between, in blocks of `block` frames. */
function roundTrip(input: Float64Array, factor: number, sampleRate: number, block = CONTROL_FRAMES): Float64Array {
  const oversampler = new Oversampler(factor, sampleRate);
  const output = new Float64Array(input.length);
  const scratch = new Float64Array(CONTROL_FRAMES);
  for (let from = 0; from < input.length; from += block) {
    const end = Math.min(input.length, from + block);
    oversampler.up(input, from, end);
    oversampler.down(scratch, end - from);
    output.set(scratch.subarray(0, end - from), from);
  }
  return output;
}

/** Gain of a filter with 4 m - 1 taps at `frequency` in parts of the rate, from its taps. */
const gainAt = (taps: Float64Array, frequency: number): number =>
  taps.reduce((sum, tap, j) => sum + tap * Math.cos(2 * Math.PI * frequency * (2 * j - taps.length + 1)), 0.5);

describe('half-band filters', () => {
  it.each([0.2268, 20 / 96, 20 / 192, 20 / 384])(
    'passing up to %f of the rate: flat, and 100 dB down above',
    (pass) => {
      const taps = halfBandTaps(pass);
      for (let f = 0; f <= pass; f += pass / 2000) {
        expect(Math.abs(gainAt(taps, f) - 1)).toBeLessThan(1e-5);
        expect(Math.abs(gainAt(taps, 0.5 - f))).toBeLessThan(1e-5);
      }
    },
  );
});

describe('oversampling', () => {
  it.each(RATES.flatMap((rate) => [2, 4, 8].map((factor) => [factor, rate] as const)))(
    '%dx at %d Hz: late by the whole samples it states, symmetric about them',
    (factor, rate) => {
      const latency = oversamplingLatency(factor, rate);
      expect(Number.isInteger(latency)).toBe(true);
      const input = new Float64Array(4 * latency);
      input[latency] = 1;
      const output = roundTrip(input, factor, rate);
      const middle = 2 * latency;
      expect(output.indexOf(Math.max(...output))).toBe(middle);
      for (let k = 1; k < latency; k++) expect(output[middle + k]).toBeCloseTo(output[middle - k]!, 12);
    },
  );

  it.each([4, 8])('%dx at 44.1 kHz: a sine of 19.9 kHz comes back at its level and phase', (factor) => {
    const sine = (n: number): number => Math.sin((2 * Math.PI * 19900 * n) / 44100);
    const latency = oversamplingLatency(factor, 44100);
    const output = roundTrip(
      Float64Array.from({ length: 4000 }, (_, n) => sine(n)),
      factor,
      44100,
    );
    // Each of the filters passed ripples by up to 1e-5.
    for (let n = 1000; n < 4000; n++) expect(Math.abs(output[n]! - sine(n - latency))).toBeLessThan(2 * factor * 1e-5);
  });

  it('gives the same samples whatever the block length', () => {
    const input = Float64Array.from({ length: 1000 }, (_, n) => Math.sin(n * n));
    const whole = roundTrip(input, 8, 48000);
    for (const block of [1, 3, 10, 33]) expect(roundTrip(input, 8, 48000, block)).toEqual(whole);
  });
});
