import { describe, expect, test } from 'vitest';
import { decibelsOf, gainOf } from '../../src/audio/decibels.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { processor, staticCurveDb } from '../../src/dsp/processors/gate.ts';
import { both, peakOf, steady, stepOf, through, tone } from '../helpers/chains.ts';

const RATE = 48000;
const valuesOf = (settings: Settings) => valuesFrom(processor.parameters, settings);

/** A level up to a frame, then another. */
const stepped = (first: number, second: number, at: number, frames: number) =>
  both(Float64Array.from({ length: frames }, (_, n) => (n < at ? first : second)));

// Downward expander: below the threshold T each dB of input is worth R dB of output, y = T + (x - T) R, down to x less
// the range (common textbook form; the mirror image of the compressor's line above its threshold).
describe('static curve', () => {
  const settings = { threshold: -40, ratio: 3, range: 30, attack: 0.1, release: 5, hold: 0 };
  const points: readonly (readonly [number, number])[] = [
    [-20, -20],
    [-40, -40],
    [-42, -46],
    [-50, -70],
    [-55, -85],
    [-60, -90],
    [-70, -100],
  ];

  test('in closed form', () => {
    for (const [inDb, outDb] of points) expect(staticCurveDb(valuesOf(settings), inDb)).toBeCloseTo(outDb, 9);
  });

  test('on steady levels', () => {
    for (const [inDb, outDb] of points) {
      const { left } = through([stepOf('gate', settings)], steady(gainOf(inDb), 9600));
      expect(Math.abs(decibelsOf(left.at(-1)!) - outDb)).toBeLessThan(1e-6);
    }
  });

  test('on sines from 40 Hz up, by their peaks', () => {
    for (const [hz, inDb, outDb] of [
      [40, -50, -70],
      [997, -55, -85],
      [40, -38, -38],
    ] as const) {
      const output = through([stepOf('gate', settings)], tone(hz, 48000, gainOf(inDb)));
      // 997 Hz is met by its samples within 0.005 dB of its crest, and the ratio counts that three times.
      expect(Math.abs(decibelsOf(peakOf(output, 40000)) - outDb)).toBeLessThan(0.02);
    }
  });
});

// y[n] = a y[n-1] + (1 - a) x[n], a = exp(-1 / (tau fs)): 63.212 % of the way after tau, 10 to 90 % in 2.19722 tau.
describe('times', () => {
  const settings = { threshold: -20, ratio: 100, range: 20, hysteresis: 0, hold: 0 };
  const floor = 0.1;

  test.each([1, 10, 50])('opens by 1 - 1/e in an attack of %d ms', (attack) => {
    const at = 4800;
    const frames = (attack * RATE) / 1000;
    const input = stepped(1e-4, 0.5, at, 30000);
    const { left } = through([stepOf('gate', { ...settings, attack })], input);
    const gain = (n: number): number => left[n]! / 0.5;
    const share = (n: number): number => (gain(n) - floor) / (1 - floor);
    expect(share(at + frames - 1)).toBeCloseTo(1 - Math.exp(-1), 6);
    expect(share(at + 2 * frames - 1)).toBeCloseTo(1 - Math.exp(-2), 6);
    const reached = (part: number): number => left.findIndex((_, n) => n >= at && share(n) >= part);
    expect(Math.abs(reached(0.9) - reached(0.1) - 2.19722 * frames)).toBeLessThanOrEqual(1);
  });

  test('closes by 1 - 1/e in a release of 100 ms, after the hold', () => {
    const at = 9600;
    const input = stepped(0.5, 1e-3, at, 48000);
    for (const hold of [0, 120]) {
      const { left } = through([stepOf('gate', { ...settings, release: 100, hold })], input);
      // The peak of the last 12.5 ms keeps it open for 599 frames more.
      const from = at + 599 + hold * 48;
      expect(left[from - 1]! / 1e-3).toBe(1);
      expect((1 - left[from + 4799]! / 1e-3) / (1 - floor)).toBeCloseTo(1 - Math.exp(-1), 6);
    }
  });
});
