import { describe, expect, it } from 'vitest';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import type { KeySignal } from '../../src/dsp/core/processor.ts';
import { measure } from '../../src/measure/measure.ts';
import { both, impulse, noise, peakOf, stepOf, through } from '../helpers/chains.ts';
import { motionOf } from '../helpers/moving-delay.ts';
import { sampleOf } from '../helpers/soak.ts';
import { pinkNoise } from '../helpers/signals.ts';

const modulated = (settings: Settings) => [stepOf('chorus', { mix: 100, ...settings })];
const powerOf = (samples: Float64Array, from = 0): number =>
  samples.subarray(from).reduce((sum, x) => sum + x * x, 0) / (samples.length - from);
const loudness = ({ left, right }: KeySignal): number =>
  measure({ sampleRate: 48000, channels: [Float32Array.from(left), Float32Array.from(right)] }).integratedLufs!;
const dB = (ratio: number): number => 10 * Math.log10(ratio);

describe('chorus', () => {
  it('without depth gives exact copies at the delay of each voice, with equal power on both sides', () => {
    const { left, right } = through(modulated({ voices: '2', depth: 0, delay: 10, spread: 0 }), impulse(2000));
    const copies = [...left].flatMap((x, n) => (x === 0 ? [] : [[n, x]]));
    expect(copies).toEqual([
      [480, Math.SQRT1_2],
      [Math.round(480 * 1.27), Math.SQRT1_2],
    ]);
    expect(right).toEqual(left);
  });

  it.each([4000, 10000, 15000, 18000])('keeps the level of a swinging copy at %d Hz', (hz) => {
    const { gains } = motionOf(modulated({ voices: '1', spread: 0, rate: 1, depth: 2 }), { hz, frames: 58000 });
    // 0.05 dB where 18 kHz is 0.375 of the rate; far less below.
    const ripple = hz < 18000 ? 0.01 : 0.06;
    for (const gain of [Math.min(...gains), Math.max(...gains)])
      expect(Math.abs(20 * Math.log10(gain))).toBeLessThan(ripple);
  });

  it('holds a steady detune: two thirds of the time within 6 % of one pitch, above and below by turns', () => {
    const { cents } = motionOf(modulated({ voices: '1', spread: 0, lfo: 'triangle', rate: 0.5, depth: 3 }), {
      frames: 4800 + 96000,
      span: 240,
    });
    const most = 1200 * Math.log2(1 + (0.003 * 0.5 * 2 * Math.PI * 0.98) / Math.asin(0.98));
    expect(Math.max(...cents)).toBeCloseTo(most, 1);
    const steady = cents.filter((x) => Math.abs(x) > 0.94 * most);
    expect(steady.length / cents.length).toBeGreaterThan(0.64);
    expect(Math.abs(steady.filter((x) => x > 0).length / steady.length - 0.5)).toBeLessThan(0.02);
  });

  it('swings each pair of voices against each other, so that together they stay in tune', () => {
    const hz = 1000;
    const side = (name: 'left' | 'right', wave: (x: number) => number): Float64Array =>
      through(
        modulated({ voices: '2', spread: 100, rate: 1, depth: 2 }),
        both(Float64Array.from({ length: 96000 }, (_, n) => wave((2 * Math.PI * hz * n) / 48000))),
      )[name];
    const pitch = (name: 'left' | 'right'): readonly number[] => {
      const [cos, sin] = [side(name, Math.cos), side(name, Math.sin)];
      const turn = (n: number, m: number): number =>
        Math.atan2(cos[n]! * sin[m]! - sin[n]! * cos[m]!, cos[n]! * cos[m]! + sin[n]! * sin[m]!);
      // Two periods apart, so that the input itself turns by nothing.
      return Array.from({ length: 400 }, (_, k) => turn(9600 + 200 * k, 9600 + 200 * k + 96) / (4 * Math.PI));
    };
    const [left, right] = [pitch('left'), pitch('right')];
    expect(Math.max(...left)).toBeGreaterThan(0.01);
    for (const [k, x] of left.entries()) expect(Math.abs(x + right[k]!)).toBeLessThan(1e-4);
  });

  it.each([
    ['2', 100],
    ['2', 0],
    ['3', 50],
    ['4', 100],
    ['4', 0],
  ])('is as loud as one copy on either side: %s voices, %d percent spread', (voices, spread) => {
    const input = noise(96000, 4, 0.5);
    const one = through(modulated({ voices: '1' }), input);
    const { left, right } = through(modulated({ voices, spread }), input);
    // White noise and its copies have nothing in common; in music lows do, and add up to more.
    expect(Math.abs(dB(powerOf(left, 4800) / powerOf(one.left, 4800)))).toBeLessThan(0.05);
    expect(Math.abs(dB(powerOf(right, 4800) / powerOf(one.right, 4800)))).toBeLessThan(0.05);
  });

  // The low cut of the copies is what remains: less than 0.5 LU of pink noise (K-weighted), all of it at 100 %.
  it.each(sampleOf([10, 25, 40, 50, 60, 75, 90, 100], 3))('keeps the loudness at a mix of %d %%', (mix) => {
    const [left, right] = [1, 2].map((seed) => Float64Array.from(pinkNoise(2.7, seed))) as [Float64Array, Float64Array];
    for (const input of [both(left), { left, right }]) {
      const output = through([stepOf('chorus', { depth: 1.5, lowCut: 150, mix })], input);
      expect(Math.abs(loudness(output) - loudness(input))).toBeLessThan(0.55);
    }
  });

  it('leaves what came from one side on that side', () => {
    const { left, right } = through(modulated({ voices: '4', spread: 60, feedback: 40 }), {
      left: noise(20000, 3).left,
      right: new Float64Array(20000),
    });
    expect(powerOf(left)).toBeGreaterThan(0.1);
    expect(powerOf(right)).toBe(0);
  });

  it('dies away with the feedback, however many voices agree', () => {
    // Copies that do not move and a steady level: they all agree.
    const settings = { voices: '4', spread: 0, depth: 0, delay: 2, feedback: 50 };
    const input = both(new Float64Array(48000).fill(1, 0, 24000));
    const { left } = through(modulated(settings), input);
    // Four voices of gain 1/2, and the loop doubles them.
    expect(left[23999]).toBeCloseTo(4, 6);
    expect(peakOf({ left, right: left })).toBeLessThan(4.0001);
    expect(Math.abs(left[47999]!)).toBeLessThan(1e-6);
  });
});
