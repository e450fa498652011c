import { expect, test } from 'vitest';
import { harmonicsOf } from '../../src/dsp/distortion/curve-harmonics.ts';
import { decibelsOf } from '../../src/audio/decibels.ts';

// By the identities cos^2 t = (1 + cos 2t) / 2 and cos^3 t = (3 cos t + cos 3t) / 4.
test('a square and a cube make the harmonics that the identities of the cosine tell', () => {
  const peak = 0.5;
  const levels = harmonicsOf((x) => x + 0.2 * x ** 2 + 0.4 * x ** 3, peak, 4);
  const fundamental = peak + 0.4 * 0.75 * peak ** 3;
  expect(levels[0]).toBeCloseTo(decibelsOf((0.2 * peak ** 2) / 2 / fundamental), 9);
  expect(levels[1]).toBeCloseTo(decibelsOf((0.4 * peak ** 3) / 4 / fundamental), 9);
  expect(levels[2]).toBeLessThan(-190);
  expect(levels[3]).toBeLessThan(-190);
});

test('a square wave, into which a sine is clipped hard, has odd harmonics of 1 / n (its Fourier series)', () => {
  const levels = harmonicsOf((x) => Math.sign(x), 1, 4);
  expect(levels[0]).toBeLessThan(-100);
  // 512 points of a step are off by less than (5 pi / 512)^2 / 6.
  expect(levels[1]).toBeCloseTo(decibelsOf(1 / 3), 1);
  expect(levels[3]).toBeCloseTo(decibelsOf(1 / 5), 1);
});

test('a straight line makes none, and silence none', () => {
  expect(harmonicsOf((x) => 0.5 * x, 0.5, 3).every((db) => db < -190)).toBe(true);
  expect(harmonicsOf(() => 0, 0.5, 2)).toEqual([-200, -200]);
});
