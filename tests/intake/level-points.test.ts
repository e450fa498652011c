import { expect, test } from 'vitest';
import { levelPoints } from '../../src/intake/level-points.ts';
import { valueAt } from '../../src/session/lines/line-values.ts';

/** Levels from these seconds on, up to 20 s. */
const levelsFrom = (steps: readonly (readonly [start: number, gainDb: number])[]) =>
  steps.map(([startSeconds, gainDb], n) => ({ startSeconds, endSeconds: steps[n + 1]?.[0] ?? 20, gainDb }));

test('levels that last are held from where they begin', () => {
  const levels = levelsFrom([
    [0, -6],
    [7.68, -11],
    [13.31, -6],
  ]);
  expect(levelPoints(levels)).toEqual(
    levels.map(({ startSeconds, gainDb }) => ({ at: startSeconds, value: gainDb, curve: 'hold' })),
  );
});

test('the steps of a fade are one straight line, within half a decibel of it', () => {
  // As intake told of a track that fell from 0 to -8 dB between seconds 6 and 14.
  const fade = levelsFrom([
    ...([
      [0, 0],
      [6.66, -1.16],
      [7.68, -2.17],
      [8.7, -3.17],
      [9.73, -4.22],
    ] as const),
    ...([
      [10.75, -5.02],
      [11.26, -5.89],
      [12.29, -6.7],
      [13.31, -8],
    ] as const),
  ]);
  const points = levelPoints(fade);
  expect(points.length).toBeLessThanOrEqual(4);
  for (let t = 0; t < 20; t += 0.25) {
    const truth = -8 * Math.min(1, Math.max(0, (t - 6) / 8));
    expect(Math.abs(Number(valueAt(points, t)) - truth), `${t} s`).toBeLessThan(0.5);
  }
});

test('a ride that turns keeps its turn, and what lasts behind it is held', () => {
  const points = levelPoints(
    levelsFrom([
      ...([
        [0, 0],
        [4, -2],
        [5, -4],
        [6, -6],
        [12, -9],
        [13, -3],
      ] as const),
    ]),
  );
  expect(points.every(({ at }, n) => n === 0 || at > points[n - 1]!.at)).toBe(true);
  expect(valueAt(points, 9)).toBe(-6);
  expect(valueAt(points, 12.5)).toBe(-9);
  expect(valueAt(points, 19)).toBe(-3);
});
