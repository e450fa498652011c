import { describe, expect, test } from 'vitest';
import { BandLimit } from '../../src/dsp/filters/band-limit.ts';
import { CONTROL_FRAMES } from '../../src/dsp/core/processor.ts';

/** Everything that comes out for `input`, the latency included. */
const ran = (input: Float64Array, sampleRate: number, on = true): Float64Array => {
  const band = new BandLimit(sampleRate);
  const output = new Float64Array(input.length);
  const limited = new Float64Array(CONTROL_FRAMES);
  for (let from = 0; from < input.length; from += CONTROL_FRAMES) {
    const to = Math.min(input.length, from + CONTROL_FRAMES);
    band.process(input, from, to, on, limited, new Float64Array(CONTROL_FRAMES));
    output.set(limited.subarray(0, to - from), from);
  }
  return output;
};

/** Impulse response, which begins with a first sample of -300 dB: nothing comes before the sound begins. */
const responseAt = (hz: number, sampleRate: number): number => {
  const input = new Float64Array(1000);
  input[0] = 1e-15;
  input[300] = 1;
  let [re, im] = [0, 0];
  ran(input, sampleRate).forEach((x, n) => {
    re += x * Math.cos((2 * Math.PI * hz * n) / sampleRate);
    im += x * Math.sin((2 * Math.PI * hz * n) / sampleRate);
  });
  return 20 * Math.log10(Math.hypot(re, im));
};

describe.each([44100, 48000, 96000, 192000])('at %d Hz', (rate) => {
  test('is flat up to 20 kHz and gone just below half the rate', () => {
    for (const hz of [20, 1000, 10000, 15000, 18000, 20000]) expect(Math.abs(responseAt(hz, rate))).toBeLessThan(0.001);
    for (const part of [0.488, 0.49, 0.495, 0.5]) expect(responseAt(part * rate, rate)).toBeLessThan(-80);
  });
});

test('says nothing before the sound begins, although it looks ahead', () => {
  const input = new Float64Array(600);
  input[200] = 1;
  const { latency } = new BandLimit(48000);
  const output = ran(input, 48000);
  expect(output.findIndex((x) => x !== 0)).toBe(200 + latency);
});

test('switched off is a delay, exact to the bit', () => {
  const input = Float64Array.from({ length: 600 }, (_, n) => Math.sin(n * n));
  const { latency } = new BandLimit(44100);
  const output = ran(input, 44100, false);
  output.forEach((x, n) => expect(x).toBe(input[n - latency] ?? 0));
});
