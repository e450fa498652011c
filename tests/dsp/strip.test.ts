import { describe, expect, test } from 'vitest';
import { decibelsOf, gainOf } from '../../src/audio/decibels.ts';
import { straight } from '../../src/dsp/core/gain-matrix.ts';
import { Strip, type StripInput, type StripSpec } from '../../src/dsp/core/strip.ts';
import { integratedFromBlocks, blockPowers } from '../../src/measure/loudness/loudness.ts';
import { weightedEnergyOf } from '../../src/measure/loudness/weighted-energy.ts';
import { stepOf } from '../helpers/chains.ts';
import { mono, pinkNoise, whiteNoise } from '../helpers/signals.ts';
import { limitingAt } from '../helpers/limiting.ts';

const input = (gain = 1, delay = 0): StripInput => ({ gains: straight(gain), delay });
const spec = (parts: Partial<StripSpec>): StripSpec => ({ inputs: [], keyInputs: [], steps: [], ...parts });

type Channels = readonly Float32Array[];

/** Runs a strip over whole signals in blocks of 128 that are cut from the arrays by offset. */
const strip = (parts: Partial<StripSpec>, channels: readonly Channels[], frames: number) => {
  const running = new Strip(spec(parts), 48000, 128);
  const left = new Float32Array(frames);
  const right = new Float32Array(frames);
  for (let at = 0; at < frames; at += 128) running.process(channels, left, right, at, Math.min(128, frames - at));
  return { left, right, latency: running.latency };
};

const rms = (samples: Float32Array): number => Math.sqrt(samples.reduce((sum, x) => sum + x * x, 0) / samples.length);
const SIGNAL = whiteNoise(0.1, 3);
const FRAMES = SIGNAL.length;
const late = (samples: Float32Array, by: number): Float32Array => {
  const out = new Float32Array(samples.length);
  out.set(samples.subarray(0, samples.length - by), by);
  return out;
};

describe('the sum of a strip', () => {
  test('of one source twice is twice the source to the last bit: +6.0206 dB', () => {
    const { left, right } = strip({ inputs: [input(), input()] }, [[SIGNAL], [SIGNAL]], FRAMES);
    expect(left).toEqual(SIGNAL.map((x) => 2 * x));
    expect(right).toEqual(left);
    expect(decibelsOf(rms(left) / rms(SIGNAL))).toBeCloseTo(6.0206, 5);
  });

  // Coherent and antiphase sums with a bus at g dB (20 log10 (1 +- 10^(g/20))), tabulated to 4 digits.
  test.each([
    [-3, 4.6495, -10.6907],
    [-6, 3.5287, -6.0412],
    [-10, 2.3866, -3.3018],
    [-12, 1.9465, -2.5126],
    [-20, 0.8279, -0.9151],
  ])('with a copy at %d dB rises by %d dB in phase and by %d dB against it', (db, coherent, antiphase) => {
    const summed = (gain: number): number => {
      const { left } = strip({ inputs: [input(), input(gain)] }, [[SIGNAL], [SIGNAL]], FRAMES);
      return decibelsOf(rms(left) / rms(SIGNAL));
    };
    expect(Math.abs(summed(gainOf(db)) - coherent)).toBeLessThan(1e-4);
    expect(Math.abs(summed(-gainOf(db)) - antiphase)).toBeLessThan(1e-4);
  });

  test('of a source and its opposite is silence', () => {
    const { left } = strip({ inputs: [input(), input(-1)] }, [[SIGNAL], [SIGNAL]], FRAMES);
    expect(left).toEqual(new Float32Array(FRAMES));
  });

  test('holds each input back by exactly its own delay', () => {
    const pulse = new Float32Array(1000);
    pulse[100] = 1;
    const inputs = [input(1, 0), input(0.5, 1), input(0.25, 128), input(0.125, 777)];
    const { left } = strip({ inputs }, [[pulse], [pulse], [pulse], [pulse]], 1000);
    const expected = new Float32Array(1000);
    [
      [100, 1],
      [101, 0.5],
      [228, 0.25],
      [877, 0.125],
    ].forEach(([frame, gain]) => (expected[frame!] = gain!));
    expect(left).toEqual(expected);
  });

  test('takes a missing or empty input as silence', () => {
    const inputs = [input(1, 5), input(1, 5), input()];
    expect(strip({ inputs }, [[SIGNAL]], FRAMES).left).toEqual(late(SIGNAL, 5));
    expect(strip({ inputs }, [[], [SIGNAL], []], FRAMES).left).toEqual(late(SIGNAL, 5));
    expect(strip({ inputs: [] }, [], FRAMES).left).toEqual(new Float32Array(FRAMES));
  });

  test('lets a delayed input that ends sound to its end', () => {
    const running = new Strip(spec({ inputs: [input(1, 200)] }), 48000, 128);
    const left = new Float32Array(384);
    running.process([[SIGNAL]], left, new Float32Array(384), 0, 128);
    running.process([[]], left, new Float32Array(384), 128, 128);
    running.process([[]], left, new Float32Array(384), 256, 128);
    expect(left).toEqual(Float32Array.from({ length: 384 }, (_, n) => (n >= 200 && n < 328 ? SIGNAL[n - 200]! : 0)));
  });

  test('spreads a one-channel source to both sides and keeps the sides of a stereo one apart', () => {
    const other = whiteNoise(0.1, 8);
    const gains = { leftToLeft: 0.5, leftToRight: 0.25, rightToLeft: -1, rightToRight: 2 };
    const { left, right } = strip({ inputs: [{ gains, delay: 0 }] }, [[SIGNAL, other]], FRAMES);
    expect(left).toEqual(SIGNAL.map((x, n) => 0.5 * x - other[n]!));
    expect(right).toEqual(SIGNAL.map((x, n) => 0.25 * x + 2 * other[n]!));
    const narrow = strip({ inputs: [{ gains, delay: 0 }] }, [[SIGNAL]], FRAMES);
    expect(narrow.left).toEqual(SIGNAL.map((x) => -0.5 * x));
    expect(narrow.right).toEqual(SIGNAL.map((x) => 2.25 * x));
  });
});

describe('a strip', () => {
  test('runs its chain on the sum, steered by the summed key inputs', () => {
    const press = { ...limitingAt(-20), lookAhead: 1, sideChain: 'external' };
    const level = (db: number): Channels => [new Float32Array(9600).fill(gainOf(db))];
    const { left, latency } = strip(
      { inputs: [input()], keyInputs: [input(), input()], steps: [stepOf('compressor', press)] },
      [level(-30), level(-16.0206), level(-16.0206)],
      9600,
    );
    expect(latency).toBe(48);
    // Two keys of -16.0206 dB make -10 dB, 10 dB above the threshold.
    expect(decibelsOf(left.at(-1)!)).toBeCloseTo(-40, 4);
  });

  test('begins anew after a reset', () => {
    const running = new Strip(
      spec({ inputs: [input(1, 50)], steps: [stepOf('eq', { 'band1.on': true, 'band1.gain': 6 })] }),
      48000,
      128,
    );
    const outs = [0, 1].map(() => {
      const left = new Float32Array(128);
      running.process([[SIGNAL]], left, new Float32Array(128), 0, 128);
      running.reset();
      return left;
    });
    expect(outs[0]!.some((x) => x !== 0)).toBe(true);
    expect(outs[1]).toEqual(outs[0]);
  });
});

describe('a copy that comes late', () => {
  // Loudness of pink noise (20 Hz to 20 kHz, mono) with its copy late by n samples at 48 kHz, over the noise alone, LU:
  // integral over the K-weighted spectrum and simulation (numpy) agree within 0.0005.
  const pink = pinkNoise(20, 11);
  const loudness = (samples: Float32Array): number =>
    integratedFromBlocks(blockPowers(weightedEnergyOf(mono(samples))))!;
  const alone = loudness(pink);

  test.each([
    [0, 6.0206],
    [1, 5.2141],
    [2, 4.3938],
    [10, 3.6821],
    [128, 2.9457],
  ])('by %d samples adds %d LU: one sample already costs 0.81', (delay, expected) => {
    const { left } = strip({ inputs: [input(), input(1, delay)] }, [[pink], [pink]], pink.length);
    // The noise has the wanted spectrum exactly; it strays by what single blocks do, about 0.001 LU.
    expect(Math.abs(loudness(left) - alone - expected)).toBeLessThan(0.005);
  });
});
