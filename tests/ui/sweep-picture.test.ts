import { describe, expect, test } from 'vitest';
import type { Sweep, SweepRow } from '../../src/blend/sweep/sweep.ts';
import { cellAfter, depthOf, gridOf, nearest } from '../../src/ui/sweep/grid-geometry.ts';
import { brokenSpans, curveEnds } from '../../src/ui/sweep/sweep-geometry.ts';
import { guardWords } from '../../src/ui/sweep/sweep-words.ts';

/** A row as far as drawings read it; `broken`: the guards that it breaks. */
const row = (blendDb: number, broken: readonly string[] = [], secondBlendDb?: number): SweepRow =>
  ({
    blendDb,
    ...(secondBlendDb === undefined ? {} : { secondBlendDb }),
    guards: ['width change', 'LRA loss'].map((name) => ({ name, pass: !broken.includes(name) })),
  }) as unknown as SweepRow;

const rendered = (rows: readonly SweepRow[]): Sweep => ({ rows, marks: null });

test('the ends of a curve leave room, and show no values that there are none of', () => {
  const lra = (valueOf: number) => curveEnds([row(0)], { valueOf: () => valueOf, span: 2, least: 0, most: 30 });
  expect([lra(5), lra(0.2), lra(29.8)]).toEqual([
    [4, 6],
    [0, 2],
    [28, 30],
  ]);
});

describe('a grid', () => {
  const rows = [-6, 0].flatMap((first) => [-12, -6, 0].map((second) => row(first, [], second)));
  const grid = gridOf(rows, rows);

  test('stands with the first bus from left to right and the highest blend of the second on top', () => {
    expect(grid.columns).toEqual([-6, 0]);
    expect(grid.lines).toEqual([0, -6, -12]);
    expect(grid.cells.map((line) => line.map((each) => [each!.blendDb, each!.secondBlendDb]))).toEqual([
      [
        [-6, 0],
        [0, 0],
      ],
      [
        [-6, -6],
        [0, -6],
      ],
      [
        [-6, -12],
        [0, -12],
      ],
    ]);
  });

  test('has all its places from the start, also those that are not measured yet', () => {
    const begun = gridOf(rows.slice(0, 2), rows);
    expect([begun.columns, begun.lines]).toEqual([grid.columns, grid.lines]);
    expect(begun.cells.flat().filter((each) => each !== null)).toEqual([rows[1], rows[0]]);
  });

  test('keys lead from cell to cell and stop at the edges; other keys lead nowhere', () => {
    const at = { column: 0, line: 1 };
    expect(cellAfter(at, 'ArrowRight', grid)).toEqual({ column: 1, line: 1 });
    expect(cellAfter(at, 'ArrowLeft', grid)).toEqual(at);
    expect(cellAfter(at, 'ArrowUp', grid)).toEqual({ column: 0, line: 0 });
    expect(cellAfter(at, 'PageDown', grid)).toEqual({ column: 0, line: 2 });
    expect(cellAfter(at, 'End', grid)).toEqual({ column: 1, line: 1 });
    expect(cellAfter(at, 'a', grid)).toBeNull();
  });

  test('a blend between two cells belongs to the nearer; a value is as deep as it lies between the ends', () => {
    expect([nearest(grid.columns, -2), nearest(grid.columns, -4), nearest(grid.lines, -40)]).toEqual([1, 0, 2]);
    expect([depthOf(-18, [-20, -16]), depthOf(-30, [-20, -16]), depthOf(null, [-20, -16])]).toEqual([0.5, 0, 0]);
  });
});

describe('where rows that were rendered break a guard', () => {
  const rows = [
    row(-12, ['LRA loss']),
    row(-6, ['LRA loss', 'width change']),
    row(0, ['LRA loss']),
    row(6, ['LRA loss', 'width change']),
  ];

  test('is said for each guard', () => {
    expect(guardWords(rendered(rows))).toEqual([
      '“LRA loss” is broken at every blend',
      '“width change” is broken at −6.0 dB and at 6.0 dB',
    ]);
    expect(guardWords(rendered([row(-6), row(0, ['LRA loss']), row(6, ['LRA loss'])]))).toEqual([
      '“LRA loss” is broken from 0.0 to 6.0 dB',
    ]);
    expect(guardWords(rendered([row(-6, [], 0), row(0, ['LRA loss'], 0)]))).toEqual([
      '“LRA loss” is broken in 1 of 2 cells',
    ]);
  });

  test('is tinted half-way to the rows that do not; what is broken all along is not', () => {
    expect(brokenSpans(rendered(rows))).toEqual([
      [-9, -3],
      [3, 6],
    ]);
  });
});
