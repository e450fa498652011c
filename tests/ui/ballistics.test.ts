import { expect, test } from 'vitest';
import { LevelBallistics, meterPart } from '../../src/ui/meters/ballistics.ts';

test('a bar rises at once and falls by 20 dB in 1.5 s; a peak is held for 1.5 s before it does', () => {
  const level = new LevelBallistics();
  level.read(-12, -3, 10);
  expect([level.barDb, level.peakDb]).toEqual([-12, -3]);
  level.read(-80, -80, 11.5 - 1e-9);
  expect(level.barDb).toBeCloseTo(-32, 0);
  expect(level.peakDb).toBe(-3);
  level.read(-80, -80, 13);
  expect(level.peakDb).toBeCloseTo(-23, 0);
  level.read(-6, -1, 13.1);
  expect([level.barDb, level.peakDb]).toEqual([-6, -1]);
});

test('a sample over full scale is remembered until it is reset, also while nothing plays', () => {
  const level = new LevelBallistics();
  level.read(-3, 0, 0);
  expect(level.isOver).toBe(false);
  level.read(-3, 0.01, 1);
  level.rest();
  expect([level.isOver, level.peakDb]).toEqual([true, -Infinity]);
  level.reset();
  expect(level.isOver).toBe(false);
});

test('a meter shows -60 to +6 dB in equal steps', () => {
  expect([-Infinity, -90, -60, -27, 6, 12].map(meterPart)).toEqual([0, 0, 0, 0.5, 1, 1]);
});
