import { expect, test } from 'vitest';
import { nearestNames, nearNames } from '../../src/session/near-names.ts';

const names = ['drum squeeze', 'bass hold', 'vocal levelling', 'short plate', 'long plate', 'air lift'];

test.each([
  ['dum squeeze', ['drum squeeze']],
  ['drumsqueeze', ['drum squeeze']],
  ['Air-Lfit', ['air lift']],
  ['plate', ['long plate', 'short plate']],
  ['squeeze my drums', ['drum squeeze']],
  ['zither', []],
  ['', []],
])('"%s" is meant for %j', (name, near) => {
  expect(nearNames(name, names).sort()).toEqual(near);
});

test('the nearest comes first, and no more are told than asked for', () => {
  expect(nearNames('vocal level', names)[0]).toBe('vocal levelling');
  expect(nearNames('hold', names, 1)).toEqual(['bass hold']);
});

test('the nearest are told however far they are', () => {
  expect(nearestNames('zither', names)).toHaveLength(3);
  expect(nearestNames('vocal hold', names)).toEqual(['bass hold', expect.any(String), expect.any(String)]);
});
