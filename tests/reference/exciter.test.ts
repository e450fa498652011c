import { describe, expect, test } from 'vitest';
import { cascadeDb, designBand } from '../../src/dsp/filters/band-design.ts';
import { decibelsOf } from '../../src/audio/decibels.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { processor } from '../../src/dsp/processors/exciter.ts';
import { both, stepOf, through } from '../helpers/chains.ts';
import { fourier } from '../helpers/signals.ts';

const RATE = 48000;
const FRAMES = 65536;
const LEAD = 32768;

/** Cut of 24 dB an octave (Butterworth of order 4) at `hz`, dB at `at`. */
const cutDb = (hz: number, at: number): number =>
  cascadeDb(designBand({ shape: 'low cut', order: 4, hz, gainDb: 0, q: 1 }, RATE), at, RATE);

/** Amplitudes of a steady sine of `cycles` in FRAMES and of what the exciter adds to it, by cycles. */
const spectrumOf = (settings: Settings, cycles: number, peak: number): Float64Array => {
  const input = Float64Array.from(
    { length: LEAD + FRAMES },
    (_, n) => peak * Math.sin((2 * Math.PI * cycles * n) / FRAMES),
  );
  const re = through([stepOf('exciter', settings)], both(input), RATE).left.slice(LEAD);
  const im = new Float64Array(FRAMES);
  fourier(re, im);
  return Float64Array.from({ length: FRAMES / 2 }, (_, k) => (2 * Math.hypot(re[k]!, im[k]!)) / FRAMES);
};

// The Chebyshev polynomials turn a sine of amplitude 1 into its harmonic of amplitude 1: T2(cos x) = cos 2x,
// T3(cos x) = cos 3x. So each harmonic has the source's level, times the amount, its share, and both cuts.
describe.each([0.5, 0.005])('harmonics of a sine of peak %f', (peak) => {
  const cycles = 6827; // 5000.24 Hz, prime
  const hz = (cycles * RATE) / FRAMES;
  const frequency = 6000;
  const sourceDb = cutDb(frequency / 2, hz);

  test.each([
    [100, 2],
    [0, 3],
  ])('even at %d: number %d alone, at its level', (even, number) => {
    const spectrum = spectrumOf({ amount: 50, even, frequency }, cycles, peak);
    const levelDb = (k: number): number => decibelsOf(spectrum[k * cycles]! / peak);
    const expected = decibelsOf(0.5) + sourceDb + cutDb(frequency, number * hz);
    // The envelope is a geometric mean of sampled crests, within 0.03 dB of the true one.
    expect(Math.abs(levelDb(number) - expected)).toBeLessThan(0.05);
    for (const other of [2, 3, 4]) if (other !== number) expect(levelDb(other)).toBeLessThan(-80);
    // What is there already is neither raised nor lowered.
    expect(Math.abs(levelDb(1))).toBeLessThan(0.001);
  });

  test('even at 60: both, each by its share', () => {
    const spectrum = spectrumOf({ amount: 100, even: 60, frequency }, cycles, peak);
    for (const [number, share] of [
      [2, 0.6],
      [3, 0.4],
    ] as const) {
      const expected = decibelsOf(share) + sourceDb + cutDb(frequency, number * hz);
      expect(Math.abs(decibelsOf(spectrum[number * cycles]! / peak) - expected)).toBeLessThan(0.05);
    }
  });

  test('and nothing else: what is no harmonic, and not beside one, is 90 dB down', () => {
    const spectrum = spectrumOf({ amount: 100, even: 40, frequency }, cycles, peak);
    // The sampled crests waver a little, slowly, and put side tones beside the harmonics.
    const beside = Math.ceil((150 * FRAMES) / RATE);
    const isHarmonic = (k: number): boolean => Math.abs(k - cycles * Math.round(k / cycles)) <= beside;
    let power = 0;
    spectrum.forEach((x, k) => {
      if (!isHarmonic(k) && (k * RATE) / FRAMES < 20000) power += x * x;
    });
    expect(10 * Math.log10(power) - decibelsOf(peak)).toBeLessThan(-90);
  });
});

test('nothing folds back: the third harmonic of 11 kHz, 33 kHz, is not heard at 15 kHz', () => {
  const cycles = 15013;
  const spectrum = spectrumOf({ amount: 100, even: 0, frequency: 4000 }, cycles, 0.5);
  const folded = FRAMES - 3 * cycles;
  expect(decibelsOf(Math.max(...spectrum.subarray(folded - 5, folded + 6)) / 0.5)).toBeLessThan(-95);
  expect(valuesFrom(processor.parameters).amount).toBe(0);
});
