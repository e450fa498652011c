import { expect, test } from 'vitest';
import { tappedTempo, withTap } from '../../src/ui/song-strip/tapped-tempo.ts';

test('taps at half a second are 120 BPM, by arithmetic; unsteady ones are levelled out', () => {
  expect(tappedTempo([1, 1.5, 2, 2.5])).toBe(120);
  expect(tappedTempo([0, 0.5])).toBeNull();
  // The slope of 0, 0.52, 0.98, 1.5 over 0, 1, 2, 3: (1.5 * 1.5 + 0.5 * 0.46) / 5 = 0.496 s: 60 / 0.496 = 120.97.
  expect(tappedTempo([0, 0.52, 0.98, 1.5])).toBe(121);
});

test('a pause begins anew', () => {
  expect(withTap([1, 1.5, 2], 6)).toEqual([6]);
  expect(withTap([1, 1.5], 2)).toEqual([1, 1.5, 2]);
});
