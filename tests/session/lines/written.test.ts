import { expect, test } from 'vitest';
import { setFrom } from '../../../src/session/lines/line-edits.ts';
import { valueAt } from '../../../src/session/lines/line-values.ts';
import type { LineTarget } from '../../../src/session/lines/line-schema.ts';
import { drawnOver, WRITTEN_DB, writtenOver } from '../../../src/session/lines/written.ts';
import { problemsOf } from '../../../src/session/read/parse.ts';
import { sessionFrom } from '../../helpers/sessions.ts';

const session = sessionFrom({
  groups: [{ id: 'band', name: 'band', chain: [{ id: 'eq', processor: 'eq', settings: { 'band3.on': true } }] }],
});
const FADER: LineTarget = { of: 'band', what: 'level' };
const valuesOf = (target: LineTarget, samples: readonly { seconds: number; value: number }[], end: number) => {
  const written = writtenOver(session, target, samples, end);
  expect(problemsOf(written)).toEqual([]);
  const { points } = written.lines[0]!;
  return { points, at: (seconds: number) => Number(valueAt(points, seconds)) };
};

test('moves of a fader come back within the tolerance, from far fewer points, and around them it stays as it was', () => {
  // A hand that goes down and up again, seen 60 times a second from 4 s on.
  const samples = Array.from({ length: 180 }, (_, n) => ({ seconds: 4 + n / 60, value: -6 * Math.sin(n / 57) ** 2 }));
  const { points, at } = valuesOf(FADER, samples, 7);
  expect(points.length).toBeLessThan(25);
  for (const { seconds, value } of samples)
    expect(Math.abs(at(seconds) - value)).toBeLessThanOrEqual(WRITTEN_DB + 1e-9);
  for (const seconds of [0, 3.9, 7.02, 60]) expect(at(seconds)).toBe(0);
});

test('what stands still between two moves is held, and a frequency goes by equal factors', () => {
  const frequency: LineTarget = { of: 'band', what: 'parameter', item: 'eq', parameter: 'band3.frequency' };
  const { at, points } = valuesOf(
    frequency,
    [
      { seconds: 1, value: 500 },
      { seconds: 3, value: 2000 },
      { seconds: 3.05, value: 1000 },
    ],
    5,
  );
  for (const [seconds, hz] of [
    [1, 500],
    [2.9, 500],
    [3, 2000],
    [4.5, 1000],
  ] as const)
    expect(at(seconds)).toBeCloseTo(hz, 6);
  // Half way from 2000 to 1000 by equal factors.
  expect(at(3.025)).toBeCloseTo(2000 / Math.SQRT2, 3);
  expect(points.some(({ curve }) => curve === 'exponential')).toBe(true);
});

test('what is set at once holds until the next point', () => {
  const off = setFrom(session, { of: 'band', what: 'on' }, 8, false);
  const again = setFrom(off, { of: 'band', what: 'on' }, 4, true);
  const { points } = setFrom(again, { of: 'band', what: 'on' }, 2, false).lines[0]!;
  expect([0, 1.9, 2, 3.9, 4, 7.9, 8, 99].map((at) => valueAt(points, at))).toEqual([
    ...[true, true, false, false, true, true, false, false],
  ]);
});

test('what is drawn goes straight from place to place', () => {
  const drawn = drawnOver(session, FADER, [
    { seconds: 2, value: -12 },
    { seconds: 6, value: -4 },
    { seconds: 8, value: -4 },
  ]);
  const { points } = drawn.lines[0]!;
  expect([1, 2, 4, 6, 7, 9].map((at) => valueAt(points, at))).toEqual([0, -12, -8, -4, -4, 0]);
});
