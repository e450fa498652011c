import { expect, test } from 'vitest';
import { panFrom, panText } from '../../src/ui/shared/pan.ts';

test('a pan is written with its side, and read with it wherever it stands', () => {
  expect([-100, -20, 0, 15, 100].map(panText)).toEqual(['left', 'L 20', 'centre', 'R 15', 'right']);
  expect(['L10', 'l 10', '10 L', '80 % left', 'Right 30,5', 'R100'].map(panFrom)).toEqual([
    -10, -10, -10, -80, 30.5, 100,
  ]);
  expect(['', 'L', '10', '-10', 'L 10 R', 'X10'].map(panFrom)).toEqual([null, null, null, null, null, null]);
  for (const pan of [-99, -20, 7, 64]) expect(panFrom(panText(pan))).toBe(pan);
});
