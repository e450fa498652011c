import { expect, test } from 'vitest';
import { timeLeft } from '../../src/engine/time-left.ts';

test('time that is left follows from the part that is done, and is not told too early', () => {
  expect(timeLeft(0.04, 10)).toBeNull();
  expect(timeLeft(0.5, 1)).toBeNull();
  // A quarter took 10 s: three more follow.
  expect(timeLeft(0.25, 10)).toBe('about 30 s left');
  expect(timeLeft(0.1, 60)).toBe('about 9 min left');
  expect(timeLeft(0.999, 60)).toBe('about 5 s left');
});
