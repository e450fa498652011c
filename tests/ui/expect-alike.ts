import { expect } from 'vitest';

/** All numbers of a document by where they stand, and the rest as text. */
const leaves = (value: unknown, at = ''): [string, unknown][] =>
  value !== null && typeof value === 'object'
    ? Object.entries(value).flatMap(([key, inner]) => leaves(inner, `${at}.${key}`))
    : [[at, value]];

/** Products of a path that changes are added up in another order than those of all paths at once. */
const ROUNDING = 1e-6;

/** What the app answered is what the command line says, number by number. */
export const expectAlike = (app: unknown, commandLine: unknown): void => {
  const [mine, other] = [leaves(JSON.parse(JSON.stringify(app))), new Map(leaves(commandLine))];
  expect(mine.length).toBeGreaterThan(100);
  for (const [at, value] of mine) {
    const told = other.get(at);
    if (typeof value === 'number' && typeof told === 'number') {
      expect(Math.abs(value - told), at).toBeLessThan(ROUNDING);
    } else if (!/\.(sentence|rule)$/.test(at)) expect(value, at).toEqual(told);
  }
  expect(mine.length).toBe(other.size);
};
