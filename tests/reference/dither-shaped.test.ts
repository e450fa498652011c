import { describe, expect, test } from 'vitest';
import { Quantiser, quantise, SHAPING } from '../../src/files/print/quantise.ts';

/**
 * Noise that is shaped has the spectrum of white dither noise (LSB²/4, Lipshitz, Wannamaker and Vanderkooy 1992) times
 * |1 - sum c_k z^-k|², with the five published coefficients (the same three, 1991): from that arithmetic alone all figures here follow.
 */
const FRAMES = 2 ** 17;
const sampleRate = 44_100;
const tone = Float32Array.from({ length: FRAMES }, (_, i) => 0.25 * Math.sin((2 * Math.PI * 997 * i) / sampleRate));

const errorOf = (input: Float32Array, seed = 1): Float64Array => {
  const { samples } = quantise(input, 16, { sampleRate, seed, shaped: true });
  return Float64Array.from(samples, (value, i) => value - input[i]! * 32_768);
};

const varianceOf = (x: Float64Array): number => x.reduce((sum, e) => sum + e * e, 0) / x.length;

/** Power of a noise within a band, LSB² (sum of squares of its frames' discrete Fourier terms there), by Goertzel's recursion over frames of 512. */
const powerAt = (x: Float64Array, hz: number): number => {
  const size = 512;
  const w = (2 * Math.PI * Math.round((hz / sampleRate) * size)) / size;
  let sum = 0;
  let count = 0;
  for (let at = 0; at + size <= x.length; at += size / 2, count++) {
    let [a, b] = [0, 0];
    for (let i = 0; i < size; i++) {
      const windowed = x[at + i]! * (0.5 - 0.5 * Math.cos((2 * Math.PI * (i + 0.5)) / size));
      [a, b] = [windowed + 2 * Math.cos(w) * a - b, a];
    }
    sum += a * a + b * b - 2 * Math.cos(w) * a * b;
  }
  return sum / count;
};

/** |1 - sum c_k z^-k|² at a frequency. */
const curveAt = (hz: number): number => {
  const w = (2 * Math.PI * hz) / sampleRate;
  let [re, im] = [1, 0];
  SHAPING.forEach((c, k) => {
    re -= c * Math.cos((k + 1) * w);
    im += c * Math.sin((k + 1) * w);
  });
  return re * re + im * im;
};

test('the coefficients are the published ones', () => {
  expect(SHAPING).toEqual([2.033, -2.165, 1.959, -1.59, 0.6149]);
});

test('its spectrum is the published curve: 10 dB and more below white noise around 4 kHz, above it from 15 kHz on', () => {
  const error = errorOf(tone);
  // Mean square of the window: 3/8.
  const white = 0.25 * 512 * 0.375;
  for (const hz of [500, 2000, 4000, 6000, 9000, 12_000, 15_000, 18_000, 20_500]) {
    const bin = (Math.round((hz / sampleRate) * 512) * sampleRate) / 512;
    const foundDb = 10 * Math.log10(powerAt(error, bin) / white);
    // 511 frames that overlap by half: chance has 0.23 dB (one deviation); the window widens the dips by less than as much again.
    expect(Math.abs(foundDb - 10 * Math.log10(curveAt(bin)))).toBeLessThan(1);
  }
  expect(10 * Math.log10(curveAt(4000))).toBeLessThan(-10);
  expect(10 * Math.log10(curveAt(15_000))).toBeGreaterThan(5);
});

test('its power is that of white dither noise times the sum of squares of the filter', () => {
  const gain = 1 + SHAPING.reduce((sum, c) => sum + c * c, 0);
  expect(Math.abs(varianceOf(errorOf(tone)) / (0.25 * gain) - 1)).toBeLessThan(0.02);
});

describe('whatever the signal', () => {
  test.each([
    ['next to silence', new Float32Array(FRAMES).fill(1e-9)],
    ['a constant of a quarter LSB', new Float32Array(FRAMES).fill(0.25 / 32_768)],
    ['a tone', tone],
  ])('%s: the noise has the same power, and nothing to do with it', (_, input) => {
    const error = errorOf(input);
    const gain = 1 + SHAPING.reduce((sum, c) => sum + c * c, 0);
    expect(Math.abs(varianceOf(error) / (0.25 * gain) - 1)).toBeLessThan(0.02);
    const energy = input.reduce((sum, x) => sum + x * x, 0);
    const product = error.reduce((sum, e, i) => sum + e * input[i]!, 0);
    // Deviation of chance: 1 / sqrt(131072) = 0.0028 for white noise; the shaped has less at low frequencies.
    expect(Math.abs(product / Math.sqrt(energy * varianceOf(error) * FRAMES))).toBeLessThan(0.01);
  });
});

test('its amplitudes are nearly those of a normal distribution, as of a sum of many errors', () => {
  const error = errorOf(tone);
  const kurtosis = error.reduce((sum, e) => sum + e ** 4, 0) / FRAMES / varianceOf(error) ** 2;
  // A weighted sum of independent errors: 3 + (kurtosis of one - 3) * sum c^4 / (sum c²)²; of one, TPDF noise with its rounding, between 2.4 and 3.
  const squares = 1 + SHAPING.reduce((sum, c) => sum + c ** 2, 0);
  const fourths = 1 + SHAPING.reduce((sum, c) => sum + c ** 4, 0);
  expect(kurtosis).toBeGreaterThan(3 - (0.6 * fourths) / squares ** 2 - 0.05);
  expect(kurtosis).toBeLessThan(3.05);
});

test('is equal for any size of pieces, and other for another seed; silence stays silent', () => {
  const input = tone.subarray(0, 9000).slice();
  input.fill(0, 3000, 5000);
  const whole = quantise(input, 16, { sampleRate, seed: 5, shaped: true }).samples;
  const quantiser = new Quantiser(input, 16, { sampleRate, seed: 5, shaped: true });
  const pieces: number[] = [];
  for (let from = 0; from < input.length; from += 617)
    pieces.push(...quantiser.next(Math.min(617, input.length - from)).samples);
  expect(Int32Array.from(pieces)).toEqual(whole);
  expect(whole.subarray(3000, 5000).every((x) => x === 0)).toBe(true);
  expect(quantise(input, 16, { sampleRate, seed: 6, shaped: true }).samples).not.toEqual(whole);
});
