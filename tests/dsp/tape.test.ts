import { describe, expect, it } from 'vitest';
import { hysteresisMakeUp, risingBranch } from '../../src/dsp/distortion/hysteresis.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { processor } from '../../src/dsp/processors/tape.ts';
import { both, impulse, noise, steady, stepOf, through, tone } from '../helpers/chains.ts';

const left = (settings: Settings, input: ReturnType<typeof both>): Float64Array =>
  through([stepOf('tape', { mix: 100, ...settings })], input).left;
const rms = (samples: Float64Array): number => Math.sqrt(samples.reduce((sum, x) => sum + x * x, 0) / samples.length);
const db = (ratio: number): number => 20 * Math.log10(ratio);
/** Gain of a steady sine, dB. */
const gainDb = (settings: Settings, hz: number, peak: number): number =>
  db(rms(left(settings, tone(hz, 48000, peak)).slice(-24000)) / (peak / Math.SQRT2));

describe('tape', () => {
  it('keeps the level of a -12 dBFS sine at any drive and hysteresis', () => {
    for (const drive of [-12, 0, 12, 24])
      for (const hysteresis of [0, 20, 60])
        expect(Math.abs(gainDb({ drive, hysteresis, bump: 0 }, 500, 0.25)), `${drive} ${hysteresis}`).toBeLessThan(
          0.15,
        );
  });

  it('holds loud sound down and passes quiet sound evenly, whatever the lag', () => {
    expect(gainDb({ drive: 12, bump: 0 }, 500, 1)).toBeLessThan(-6);
    const quiet = (hysteresis: number, peak: number): number => gainDb({ hysteresis, bump: 0 }, 500, peak);
    for (const hysteresis of [20, 60])
      expect(Math.abs(quiet(hysteresis, 0.001) - quiet(hysteresis, 0.02))).toBeLessThan(0.02);
    expect(Math.abs(gainDb({ hysteresis: 0, bump: 0, drive: -12 }, 500, 0.001))).toBeLessThan(0.1);
  });

  it('gives way in the highs first, the more emphasis', () => {
    const lost = (emphasis: number, hz: number): number =>
      gainDb({ drive: 12, emphasis, bump: 0 }, hz, 0.7) -
      gainDb({ drive: -12, hysteresis: 0, emphasis, bump: 0 }, hz, 0.001);
    expect(lost(12, 12000)).toBeLessThan(lost(12, 500) - 3);
    expect(lost(12, 12000)).toBeLessThan(lost(6, 12000) - 1);
    expect(lost(6, 12000)).toBeLessThan(lost(0, 12000) - 1);
  });

  it('undoes its emphasis: quiet sound without lag stays even', () => {
    for (const hz of [100, 1000, 5000, 10000, 15000]) {
      const settings = { hysteresis: 0, bump: 0, drive: -12, speed: '30 in/s' };
      const change = gainDb({ ...settings, emphasis: 12 }, hz, 0.001) - gainDb({ ...settings, emphasis: 0 }, hz, 0.001);
      expect(Math.abs(change), `${hz} Hz`).toBeLessThan(0.01);
    }
  });

  it.each([
    ['7.5 in/s', 35],
    ['15 in/s', 65],
    ['30 in/s', 120],
  ])('has its head bump at %s at %d Hz, and fewer highs the slower', (speed, hz) => {
    const at = (frequency: number): number => gainDb({ speed, bump: 4, hysteresis: 0, drive: -12 }, frequency, 0.001);
    expect(at(hz)).toBeCloseTo(4, 1);
    expect(at(hz / 2)).toBeLessThan(3);
    expect(at(hz * 2)).toBeLessThan(3);
    // One pole, 3 dB down at 12, 22 and 40 kHz.
    const highs = { '7.5 in/s': -2.29, '15 in/s': -0.82, '30 in/s': -0.26 }[speed]!;
    expect(Math.abs(at(10000) - highs)).toBeLessThan(0.15);
  });

  it('leaves no direct component behind, though the tape stays magnetised', () => {
    const burst = steady(1, 192000);
    for (const side of [burst.left, burst.right]) side.fill(0, 24000);
    expect(Math.abs(left({ hysteresis: 60 }, burst).at(-1)!)).toBeLessThan(1e-6);
  });

  it('runs evenly with wow and flutter at 0: an impulse comes at its latency, once', () => {
    const latency = processor.latency(valuesFrom(processor.parameters, {}), 48000);
    const output = left({ hysteresis: 0, drive: -12, bump: 0 }, impulse(4000, 100));
    const top = output.reduce((best, x, n) => (Math.abs(x) > Math.abs(output[best]!) ? n : best), 0);
    expect(top).toBe(100 + latency);
  });

  it('wavers the same in each run, and on both sides', () => {
    const input = both(noise(9600, 3).left);
    const settings = { mix: 100, wow: 0.4, flutter: 0.2 };
    const first = through([stepOf('tape', settings)], input);
    const second = through([stepOf('tape', settings)], input);
    expect(second).toEqual(first);
    expect(first.right).toEqual(first.left);
  });

  it('lets each channel waver by itself as far as it is told to', () => {
    const input = both(noise(48000, 3).left);
    const alike = (apart: number): number => {
      const output = through([stepOf('tape', { mix: 100, wow: 0.1, flutter: 0.05, apart })], input);
      const [l, r] = [output.left.subarray(9600), output.right.subarray(9600)];
      return l.reduce((sum, x, n) => sum + x * r[n]!, 0) / l.length / (rms(l) * rms(r));
    };
    expect(alike(0)).toBeCloseTo(1, 9);
    // Ever further out of step, and white noise is soon a stranger to itself.
    expect(alike(3)).toBeLessThan(alike(0) - 0.005);
    expect(alike(100)).toBeLessThan(0.5);
  });

  it('draws the branch that it plays: rising, level at both ends, from below', () => {
    const points = risingBranch(4, 0.4, 33);
    for (const [n, [x, y]] of points.entries())
      if (n > 0) {
        expect(x).toBeGreaterThan(points[n - 1]![0]);
        expect(y).toBeGreaterThanOrEqual(points[n - 1]![1]);
      }
    expect(points[16]![1]).toBeLessThan(0);
    expect(points[32]![1]).toBeCloseTo(-points[0]![1], 2);
    expect(hysteresisMakeUp(1e-3, 0)).toBeCloseTo(1000, 1);
  });
});
