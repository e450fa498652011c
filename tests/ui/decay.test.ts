import { expect, test } from 'vitest';
import { decayPoints } from '../../src/ui/picture/decay.ts';

/** A second in 100 columns that falls by 60 dB, its lows as far down as its highs are up. */
const falling = (() => {
  const max = Float32Array.from({ length: 100 }, (_, column) => 0.5 * 10 ** ((-60 * column) / 100 / 20));
  return { min: max.map((x) => -x), max, secondsPerColumn: 0.01 };
})();
const whole = { preDelay: 0, length: 100, mix: 100 };

test('the picture of a response falls as the response does, from the level of its share', () => {
  const points = decayPoints(falling, { ...whole, mix: 50 }, 50);
  expect(points).toHaveLength(50);
  expect(points[0]![1]).toBeCloseTo(20 * Math.log10(0.5), 6);
  expect(points[25]![0]).toBeCloseTo(0.5, 6);
  expect(points[25]![1]).toBeCloseTo(20 * Math.log10(0.5) - 30, 4);
});

test('a pre-delay holds it back, a shorter length ends it sooner, and a silent one has none', () => {
  const points = decayPoints(falling, { ...whole, preDelay: 100, length: 40 }, 100);
  expect(points).toHaveLength(40);
  expect(points[0]![0]).toBeCloseTo(0.1, 6);
  expect(points.at(-1)![0]).toBeCloseTo(0.49, 6);
  const silent = { ...falling, min: new Float32Array(100), max: new Float32Array(100) };
  expect(decayPoints(silent, whole, 100)).toEqual([]);
});
