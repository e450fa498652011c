import { expect, test } from 'vitest';
import { LOWS_HZ, MonitorChecks, type MonitorCheck } from '../../src/audition/monitor-check.ts';

const RATE = 48_000;
const BLOCK = 128;
const FADE = 720;
const SECONDS = 1;

type Wave = (seconds: number) => number;
const sine =
  (hz: number): Wave =>
  (seconds) =>
    Math.sin(2 * Math.PI * hz * seconds);
const silence: Wave = () => 0;

/** Runs two waves through a check, and gives what comes out. */
const heard = (check: MonitorCheck | null, left: Wave, right: Wave): readonly [Float64Array, Float64Array] => {
  const checks = new MonitorChecks(RATE, FADE, BLOCK);
  checks.set(check);
  const out = [new Float64Array(RATE * SECONDS), new Float64Array(RATE * SECONDS)] as const;
  for (let at = 0; at + BLOCK <= RATE * SECONDS; at += BLOCK) {
    const [l, r] = [left, right].map((wave) => Float64Array.from({ length: BLOCK }, (_, i) => wave((at + i) / RATE)));
    checks.process(l!, r!, BLOCK);
    out[0].set(l!, at);
    out[1].set(r!, at);
  }
  return out;
};

/** Peak level of the last half, where all has settled; dB. */
const levelDb = (samples: Float64Array): number =>
  20 * Math.log10(samples.slice(RATE / 2, RATE - BLOCK).reduce((peak, x) => Math.max(peak, Math.abs(x)), 1e-15));

test('without a check the sound passes bit for bit', () => {
  const [left] = heard(null, sine(440), silence);
  for (let i = 0; i < 1000; i++) expect(left[i]).toBe(sine(440)(i / RATE));
});

test('mono is half the sum on both sides, the side half the difference', () => {
  const inverted: Wave = (seconds) => -sine(440)(seconds);
  expect(levelDb(heard('mono', sine(440), inverted)[0])).toBeLessThan(-200);
  expect(levelDb(heard('side', sine(440), sine(440))[1])).toBeLessThan(-200);
  // One side alone is in both at half: 20 log10 0.5 = -6.02 dB.
  for (const check of ['mono', 'side'] as const)
    for (const side of heard(check, sine(440), silence)) expect(levelDb(side)).toBeCloseTo(-6.02, 1);
});

test('the lows are a Butterworth low-pass of fourth order', () => {
  // |H|^2 = 1 / (1 + (f / fc)^8): -3.01 dB at the corner, -24.1 dB an octave above. The bilinear transform is 0.01 dB off there.
  expect(levelDb(heard('lows', sine(LOWS_HZ), silence)[0])).toBeCloseTo(-3.01, 1);
  expect(levelDb(heard('lows', sine(2 * LOWS_HZ), silence)[0])).toBeCloseTo(-24.1, 1);
});

test('a small loudspeaker has one side and no lows', () => {
  const [left, right] = heard('small loudspeaker', sine(1000), silence);
  expect(levelDb(left)).toBeCloseTo(-6.02, 1);
  expect(left.slice(-2 * BLOCK)).toEqual(right.slice(-2 * BLOCK));
  expect(levelDb(heard('small loudspeaker', sine(50), sine(50))[0])).toBeLessThan(-40);
});

test('an inverted right side is inverted exactly, and a check that is taken off leaves nothing', () => {
  const [, right] = heard('right inverted', silence, sine(440));
  expect(right[RATE / 2]).toBe(-sine(440)(0.5));
  const checks = new MonitorChecks(RATE, FADE, BLOCK);
  for (const check of ['lows', 'mono', null] as const) checks.set(check);
  const block = (): [Float64Array, Float64Array] => [
    new Float64Array(BLOCK).fill(0.3),
    new Float64Array(BLOCK).fill(-0.2),
  ];
  for (let n = 0; n < 40; n++) checks.process(...block(), BLOCK);
  const [left] = block();
  checks.process(left, block()[1], BLOCK);
  expect(left).toEqual(block()[0]);
});

test('changing over makes no step', () => {
  const checks = new MonitorChecks(RATE, FADE, BLOCK);
  let last = 1;
  for (let n = 0; n < 20; n++) {
    if (n === 2) checks.set('side');
    const [left, right] = [new Float64Array(BLOCK).fill(1), new Float64Array(BLOCK).fill(1)];
    checks.process(left, right, BLOCK);
    for (const sample of left) {
      // From 1 to 0 in 720 frames along a smooth step, which is nowhere steeper than twice a straight line.
      expect(Math.abs(sample - last)).toBeLessThan(2 / FADE);
      last = sample;
    }
  }
  expect(last).toBe(0);
});
