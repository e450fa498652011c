import { describe, expect, it } from 'vitest';
import { Chain } from '../../src/dsp/core/chain.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import {
  integralAt,
  integralOf,
  meanBetween,
  risingMeanBetween,
  secondIntegralAt,
  secondIntegralOf,
} from '../../src/dsp/distortion/averaged-curve.ts';
import { processor, transferOf } from '../../src/dsp/processors/saturator.ts';
import { shapingCurves, valueAt } from '../../src/dsp/distortion/shaping-curve.ts';
import { both, noise, peakOf, run, steady, stepOf, through, tone } from '../helpers/chains.ts';
import { splatterDb } from '../helpers/splatter.ts';

const CURVES = ['soft', 'cubic', 'hard clip', 'asymmetric', 'fold', 'second harmonic', 'uneven clip'];
const valuesOf = (settings: Settings) => valuesFrom(processor.parameters, settings);
const left = (settings: Settings, input: ReturnType<typeof both>): Float64Array =>
  through([stepOf('saturator', settings)], input).left;

const mean = (samples: Float64Array): number => samples.reduce((sum, x) => sum + x, 0) / samples.length;
const rms = (samples: Float64Array): number => Math.sqrt(samples.reduce((sum, x) => sum + x * x, 0) / samples.length);
const db = (ratio: number): number => 20 * Math.log10(ratio);

describe('saturator', () => {
  it('has a unity slope at rest for every curve', () => {
    for (const curve of CURVES) {
      const values = valuesOf({ curve, compensation: false, mix: 100 });
      expect((transferOf(values, 1e-3) - transferOf(values, -1e-3)) / 2e-3).toBeCloseTo(1, 5);
      expect(transferOf(values, 0)).toBe(0);
    }
  });

  it('keeps the loudness of what came in at any drive and level, where that is asked for', () => {
    for (const peak of [0.5, 0.05])
      for (const settings of [
        { drive: 24, mix: 100 },
        { drive: 12, curve: 'asymmetric', bias: 20, mix: 60 },
      ]) {
        const input = noise(4 * 48000, 3, peak);
        const output = left({ ...settings, keepLoudness: true }, input);
        expect(peakOf({ left: output, right: output })).toBeLessThan(4 * peak); // at the start, where little is known yet, too
        // White noise is bent alike at every frequency, so its loudness follows its rms; the gain needs a moment to settle.
        expect(Math.abs(db(rms(output.subarray(48000)) / rms(input.left.subarray(48000))))).toBeLessThan(0.3);
      }
  });

  it('plays what its picture shows: a steady level comes out as the transfer curve says', () => {
    for (const curve of ['soft', 'cubic', 'hard clip'])
      for (const x of [-1, -0.3, 0.05, 0.7]) {
        const settings = { curve, drive: 9, mix: 80 };
        expect(left(settings, steady(x, 1000)).at(-1)).toBeCloseTo(transferOf(valuesOf(settings), x), 4);
      }
  });

  it('mixes without a comb: a clean 5 kHz sine at 50 % keeps its level', () => {
    const settings = { curve: 'hard clip', compensation: false, mix: 50, antialiasing: false };
    const late = processor.latency(valuesOf(settings), 48000);
    const input = tone(5000, 4800, 0.5);
    const output = left(settings, input);
    for (let n = 1000; n < 4800; n++) expect(Math.abs(output[n]! - input.left[n - late]!)).toBeLessThan(2e-5);
  });

  it.each(['2x', '4x', '8x'])('mixes without a comb with anti-aliasing at %s too', (oversampling) => {
    const settings = { curve: 'hard clip', compensation: false, mix: 50, oversampling };
    const late = processor.latency(valuesOf(settings), 48000);
    const input = tone(5000, 4800, 0.5);
    const output = left(settings, input);
    for (let n = 1000; n < 4800; n++) expect(Math.abs(output[n]! - input.left[n - late]!)).toBeLessThan(1e-4);
  });

  it('folds: a louder wave comes back down', () => {
    const values = valuesOf({ curve: 'fold', compensation: false, mix: 100, drive: 20 * Math.log10(Math.PI) });
    expect(transferOf(values, 0.5)).toBeCloseTo(1, 6);
    expect(transferOf(values, 1)).toBeCloseTo(0, 6);
  });

  it('gives the mean of the curve, and that under a rising weight, on the way from one sample to the next with anti-aliasing', () => {
    for (const curve of [shapingCurves['hard clip'], shapingCurves.soft, shapingCurves.fold]) {
      const integral = integralOf(curve);
      const second = secondIntegralOf(curve, integral);
      const twice = (x: number): number => secondIntegralAt(curve, integral, second, x);
      for (const [from, to] of [
        [-0.3, 2],
        [0.99, 1.01],
        [-20, 15],
        [5, 5.001],
        [3, 3 + 1e-7],
      ] as const) {
        const points = 20000;
        const values = Array.from({ length: points }, (_, n) =>
          valueAt(curve, from + ((to - from) * (n + 0.5)) / points),
        );
        const mean = values.reduce((sum, y) => sum + y, 0) / points;
        const rising = values.reduce((sum, y, n) => sum + (y * (n + 0.5)) / points, 0) / points;
        const found = meanBetween(curve, from, integralAt(curve, integral, from), to, integralAt(curve, integral, to));
        expect(Math.abs(found - mean)).toBeLessThan(1e-6);
        const foundRising = risingMeanBetween(curve, from, twice(from), to, integralAt(curve, integral, to), twice(to));
        expect(Math.abs(foundRising - rising)).toBeLessThan(1e-6);
      }
    }
  });

  it('keeps the level of a -12 dBFS sine at any drive, bias and curve', () => {
    const input = tone(1000, 24000, 10 ** (-12 / 20));
    for (const curve of CURVES)
      for (const settings of [{ drive: -12 }, { drive: 6 }, { drive: 24, bias: 30 }, { drive: 48 }]) {
        // At 48 dB the folds of a 1 kHz sine are so narrow that much of them lies above 20 kHz.
        if (curve === 'fold' && settings.drive === 48) continue;
        const steadyPart = left({ curve, mix: 100, ...settings }, input).slice(-4800);
        // A second-order quadrature of 32 points, and harmonics above 20 kHz that the filters take away.
        expect(Math.abs(db(rms(steadyPart) / rms(input.left))), `${curve} ${JSON.stringify(settings)}`).toBeLessThan(
          0.1,
        );
      }
  });

  it('leaves a steady level alone on even curves without bias, and removes it on others', () => {
    const held = steady(0.25, 96000);
    expect(left({ curve: 'hard clip', compensation: false, mix: 100 }, held).at(-1)).toBeCloseTo(0.25, 5);
    expect(Math.abs(left({ curve: 'asymmetric', mix: 100 }, held).at(-1)!)).toBeLessThan(1e-5);
    expect(Math.abs(left({ curve: 'soft', bias: 20, mix: 100 }, held).at(-1)!)).toBeLessThan(1e-5);
  });

  it('adds no direct component at strong bias', () => {
    const output = left({ drive: 12, bias: 60, mix: 100 }, tone(100, 96000, 0.5));
    expect(Math.abs(mean(output.slice(-48000)))).toBeLessThan(1e-4);
  });

  it('adds even harmonics with bias and on the asymmetric curve only', () => {
    // A wave inverted and moved by half a period is itself without even harmonics.
    const evenPart = (settings: Settings): number => {
      const output = left({ drive: 12, mix: 100, ...settings }, tone(480, 48000, 0.3)).slice(-9600);
      return rms(output.slice(0, 4800).map((x, n) => x + output[n + 50]!)) / rms(output);
    };
    for (const curve of ['soft', 'cubic', 'hard clip']) {
      expect(evenPart({ curve })).toBeLessThan(1e-9);
      expect(evenPart({ curve, bias: 30 })).toBeGreaterThan(0.05);
    }
    expect(evenPart({ curve: 'asymmetric' })).toBeGreaterThan(0.05);
  });

  it('tilts around 1 kHz by half of the tone each way', () => {
    const gain = (hz: number, db: number): number => {
      const clean = { curve: 'hard clip', compensation: false, mix: 100, tone: db };
      return rms(left(clean, tone(hz, 24000, 0.1)).slice(-19200)) / rms(tone(hz, 19200, 0.1).left);
    };
    for (const tilt of [-12, 6]) {
      expect(db(gain(20, tilt))).toBeCloseTo(-tilt / 2, 1);
      expect(db(gain(19000, tilt))).toBeCloseTo(tilt / 2, 0);
      expect(db(gain(20, tilt) * gain(19000, tilt))).toBeLessThan(0.2);
    }
  });

  it('treats left and right apart', () => {
    const input = noise(2000, 4);
    const output = through([stepOf('saturator', { drive: 12, mix: 100 })], input);
    const silentRight = through([stepOf('saturator', { drive: 12, mix: 100 })], {
      left: input.left,
      right: new Float64Array(2000),
    });
    expect(silentRight.left).toEqual(output.left);
    expect(silentRight.right.every((x) => x === 0)).toBe(true);
  });

  it.each([
    ['drive', { drive: -6 }, { drive: 0 }],
    ['mix', { mix: 0 }, { mix: 100 }],
    ['level compensation', { drive: -6, compensation: false }, { drive: -6, compensation: true }],
    ['tone', { tone: -6 }, { tone: 6 }],
    ['curve', { curve: 'hard clip', drive: 6 }, { curve: 'cubic', drive: 6 }],
    ['bias', { bias: 0 }, { bias: 30 }],
  ])('moves its %s without a click', (_, from, to) => {
    // Quiet enough that the curves are nearly straight: what is outside the sine's band then comes from the move.
    const input = tone(1000, 65536, 1e-5);
    const settings = (extra: Settings) => stepOf('saturator', { mix: 100, compensation: false, ...extra });
    const chain = new Chain([settings(from)], 48000, 64);
    const cut = (a: number, b: number) => both(input.left.subarray(a, b));
    const parts = [0, 20000, 26000, 32000, 38000, 65536];
    const output = parts.slice(1).flatMap((end, n) => {
      chain.set(0, settings(n % 2 ? to : from).values);
      return [...run(chain, cut(parts[n]!, end), [64]).left];
    });
    expect(splatterDb(Float64Array.from(output), 1000, 900)).toBeLessThan(-80);
  });
});
