import { describe, expect, test } from 'vitest';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { valuesFrom } from '../../src/dsp/core/parameter.ts';
import { processor } from '../../src/dsp/processors/exciter.ts';
import { both, noise, stepOf, through, tone } from '../helpers/chains.ts';
import { fourier } from '../helpers/signals.ts';

const RATE = 48000;
const LATENCY = processor.latency(valuesFrom(processor.parameters), RATE);

/** What it adds to the sound. */
const added = (settings: Settings, input: Float64Array): Float64Array =>
  through([stepOf('exciter', settings)], both(input)).left.map((y, n) => y - (input[n - LATENCY] ?? 0));

const power = (samples: Float64Array): number => samples.reduce((sum, x) => sum + x * x, 0) / samples.length;
const levelDb = (samples: Float64Array): number => 10 * Math.log10(power(samples));

/** Levels of the octaves from 500 Hz, 1, 2, 4 kHz and the band from 8 to 20 kHz, dB. */
const bandsOf = (samples: Float64Array): readonly number[] => {
  const re = samples.slice(-32768);
  const im = new Float64Array(32768);
  fourier(re, im);
  return [500, 1000, 2000, 4000, 8000].map((hz) => {
    let sum = 0;
    const to = hz === 8000 ? 20000 : 2 * hz;
    for (let k = Math.ceil((hz * 32768) / RATE); k < (to * 32768) / RATE; k++) sum += re[k]! ** 2 + im[k]! ** 2;
    return 10 * Math.log10(sum);
  });
};

/** Noise that falls by 12 dB an octave above 700 Hz, as voices and dull recordings do. */
const dull = (seed: number): Float64Array => {
  let [first, second] = [0, 0];
  return noise(48000, seed, 0.8).left.map((x) => {
    first += 0.09 * (x - first);
    second += 0.09 * (first - second);
    return second;
  });
};

describe('air', () => {
  test('raises the bands above 8 kHz by more than all others', () => {
    const input = dull(3);
    const before = bandsOf(input);
    const after = bandsOf(through([stepOf('exciter', { amount: 80, frequency: 8000 })], both(input)).left);
    const rises = after.map((level, k) => level - before[k]!);
    expect(rises[4]).toBeGreaterThan(1.5);
    for (const rise of rises.slice(0, 4)) expect(Math.abs(rise)).toBeLessThan(rises[4]! / 3);
    for (const rise of rises.slice(0, 3)) expect(Math.abs(rise)).toBeLessThan(0.1);
  });

  test('follows the programme: at any level the same, 6 dB for 6 dB', () => {
    const input = dull(4);
    const loud = added({ amount: 40 }, input);
    const soft = added(
      { amount: 40 },
      input.map((x) => x / 256),
    );
    const most = Math.max(...loud.map(Math.abs));
    soft.forEach((x, n) => expect(Math.abs(256 * x - loud[n]!)).toBeLessThan(1e-5 * most));
  });

  test('rises and falls with the sound it is made from, within milliseconds', () => {
    // 5 kHz with its level going up and down by 20 dB, 4 times a second.
    const swell = (n: number): number => 10 ** Math.sin((2 * Math.PI * 4 * n) / RATE);
    const input = tone(5000, 48000, 0.05).left.map((x, n) => x * swell(n));
    const air = added({ amount: 100, frequency: 6000, even: 100 }, input);
    for (let from = 12000; from < 47000; from += 480) {
      const ratio =
        levelDb(air.subarray(from, from + 480)) - levelDb(input.subarray(from - LATENCY, from + 480 - LATENCY));
      // The air filter takes 0.4 dB at 10 kHz; the envelope holds for 4 ms, in which 20 dB a quarter of a period move by 2 dB.
      expect(Math.abs(ratio)).toBeLessThan(2.5);
    }
  });

  test('has nothing in common with the sound it is added to: the level rises by its power', () => {
    for (const seed of [5, 6]) {
      const input = noise(48000, seed, 0.5).left;
      const air = added({ amount: 100, frequency: 2000 }, input).slice(4000);
      const source = input.slice(4000 - LATENCY, 48000 - LATENCY);
      const common = air.reduce((sum, x, n) => sum + x * source[n]!, 0) / source.length;
      expect(Math.abs(common) / Math.sqrt(power(air) * power(source))).toBeLessThan(0.06);
    }
  });

  test('of an amount of half is half as large', () => {
    const input = dull(7);
    const whole = added({ amount: 100 }, input);
    const half = added({ amount: 50 }, input);
    const most = Math.max(...whole.map(Math.abs));
    half.forEach((x, n) => expect(Math.abs(2 * x - whole[n]!)).toBeLessThan(1e-9 * most));
  });

  test('alone is what is added otherwise', () => {
    const input = dull(8);
    const alone = through([stepOf('exciter', { amount: 70, alone: true })], both(input)).left;
    const air = added({ amount: 70 }, input);
    alone.forEach((x, n) => expect(x).toBeCloseTo(air[n]!, 12));
  });

  test('of a low note is none', () => {
    const input = tone(200, 24000, 0.8).left;
    expect(levelDb(added({ amount: 100, frequency: 8000 }, input).slice(4800)) - levelDb(input)).toBeLessThan(-100);
  });
});
