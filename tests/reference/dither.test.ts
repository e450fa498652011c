import { describe, expect, test } from 'vitest';
import { quantise, Quantiser } from '../../src/files/print/quantise.ts';

/**
 * Triangular dither of 2 LSB peak to peak: the total error has mean 0 and variance LSB²/4 whatever the signal (Lipshitz,
 * Wannamaker and Vanderkooy 1992). 16 bit: -96.3296 dB rms re 1, that is -93.3193 dB re a full-scale sine.
 */
const FRAMES = 480000;
const sampleRate = 48000;

/** Mean and variance of the error in LSB. */
function errorOf(input: Float32Array, bits: 16 | 24): { mean: number; variance: number } {
  const { samples } = quantise(input, bits, { sampleRate, seed: 1 });
  const scale = 2 ** (bits - 1);
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < samples.length; i++) {
    const error = samples[i]! - input[i]! * scale;
    sum += error;
    squares += error * error;
  }
  const mean = sum / samples.length;
  return { mean, variance: squares / samples.length - mean * mean };
}

const fill = (level: (i: number) => number): Float32Array => Float32Array.from({ length: FRAMES }, (_, i) => level(i));
const tone = (db: number): Float32Array =>
  fill((i) => 10 ** (db / 20) * Math.sin((2 * Math.PI * 997 * i) / sampleRate));

describe('16 bit: error variance 0.25 LSB² and mean 0 whatever the signal (no noise modulation)', () => {
  test.each([
    ['next to silence', fill(() => 1e-12)],
    ['a constant of half an LSB', fill(() => 0.5 / 32768)],
    ['a constant of a quarter LSB', fill(() => 0.25 / 32768)],
    ['a tone at -96 dBFS', tone(-96)],
    ['a tone at -6 dBFS', tone(-6)],
    ['a tone at -1 dBFS', tone(-1)],
  ])('%s', (_, input) => {
    const { mean, variance } = errorOf(input, 16);
    expect(Math.abs(variance / 0.25 - 1)).toBeLessThan(0.02);
    expect(Math.abs(mean)).toBeLessThan(0.005);
  });
});

test('16 bit noise lies at -96.3296 dB rms, -93.3193 dB re a full-scale sine', () => {
  const { variance } = errorOf(tone(-6), 16);
  const db = 10 * Math.log10(variance / 32768 ** 2);
  expect(Math.abs(db - -96.3296)).toBeLessThan(0.05);
  expect(Math.abs(db + 10 * Math.log10(2) - -93.3193)).toBeLessThan(0.05);
});

test('24 bit noise lies at -144.4944 dB rms', () => {
  // At -40 dBFS the float32 source is finer than the 24 bit grid, so that the error is that of the dither.
  const { variance } = errorOf(tone(-40), 24);
  expect(Math.abs(10 * Math.log10(variance / 8388608 ** 2) - -144.4944)).toBeLessThan(0.05);
});

test('a tone at -96 dBFS, less than one LSB high, survives with its level', () => {
  const input = tone(-96);
  const { samples } = quantise(input, 16, { sampleRate, seed: 1 });
  let product = 0;
  let energy = 0;
  for (let i = 0; i < FRAMES; i++) {
    product += (samples[i]! / 32768) * input[i]!;
    energy += input[i]! ** 2;
  }
  expect(Math.abs(20 * Math.log10(product / energy))).toBeLessThan(0.1);
});

test('the error is white: neighbours are independent', () => {
  const input = tone(-6);
  const { samples } = quantise(input, 16, { sampleRate, seed: 1 });
  const error = Float64Array.from(samples, (value, i) => value - input[i]! * 32768);
  for (const lag of [1, 2, 3, 48]) {
    let product = 0;
    for (let i = lag; i < FRAMES; i++) product += error[i]! * error[i - lag]!;
    // Standard deviation of chance: 1 / sqrt(480000) = 0.0014.
    expect(Math.abs(product / (0.25 * FRAMES))).toBeLessThan(0.006);
  }
});

describe('silence (our decision: it stays silent, dither is for what would be rounded)', () => {
  test('digital silence gives zeros', () => {
    expect(quantise(new Float32Array(4800), 16, { sampleRate, seed: 1 }).samples.every((x) => x === 0)).toBe(true);
  });

  test('a gap of 10 ms between two tones is silent, and the tones are dithered', () => {
    const input = tone(-20).subarray(0, 4800).slice();
    input.fill(0, 1000, 1480);
    const { samples } = quantise(input, 16, { sampleRate, seed: 1 });
    expect(samples.subarray(1000, 1480).every((x) => x === 0)).toBe(true);
    const rounded = Int32Array.from(input, (x) => Math.round(x * 32768));
    expect(samples.subarray(1480).some((x, i) => x !== rounded[1480 + i])).toBe(true);
  });

  test('zeros for less than 10 ms are dithered like the rest', () => {
    const input = tone(-20).subarray(0, 4800).slice();
    input.fill(0, 1000, 1470);
    const { samples } = quantise(input, 16, { sampleRate, seed: 1 });
    expect(samples.subarray(1001, 1469).some((x) => x !== 0)).toBe(true);
  });
});

describe('samples that come piece by piece', () => {
  test.each([1, 100, 480, 9_001])('are the same integers as all at once, %i at a time', (step) => {
    // Noise, a long and a short run on the grid, silence, and samples beyond full scale.
    const input = Float32Array.from({ length: 24_000 }, (_, i) => {
      const noise = Math.sin(i * i) / 3;
      if (i >= 20_000) return 4 * noise;
      const isExact = (i > 3000 && i < 9100) || (i > 12_000 && i < 12_400);
      return i > 15_000 && i < 17_000 ? 0 : isExact ? Math.round(noise * 32_768) / 32_768 : noise;
    });
    const whole = quantise(input, 16, { sampleRate, seed: 3 });
    const quantiser = new Quantiser(input, 16, { sampleRate, seed: 3 });
    const samples: number[] = [];
    let limitedSamples = 0;
    for (let from = 0; from < input.length; from += step) {
      const part = quantiser.next(Math.min(step, input.length - from));
      samples.push(...part.samples);
      limitedSamples += part.limitedSamples;
    }
    expect(Int32Array.from(samples)).toEqual(whole.samples);
    expect(limitedSamples).toBe(whole.limitedSamples);
    expect(limitedSamples).toBeGreaterThan(0);
  });
});
