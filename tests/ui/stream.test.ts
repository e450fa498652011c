import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { CLOSED_DB } from '../../src/session/schema.ts';
import { clampLevel, levelAt, LOUDEST_DB, positionOf, stepLevel } from '../../src/ui/stream/decibel-scale.ts';
import { halfWidthAt, streamPath } from '../../src/ui/stream/stream-geometry.ts';

const level = fc.integer({ min: -600, max: 240 }).map((tenths) => tenths / 10);

describe('the way along a stream', () => {
  test('the far left is shut, the far right the loudest', () => {
    expect(positionOf(CLOSED_DB)).toBe(0);
    expect(positionOf(LOUDEST_DB)).toBe(1);
    expect(levelAt(0)).toBe(CLOSED_DB);
    expect(levelAt(1)).toBe(LOUDEST_DB);
  });

  test('louder is always farther right', () => {
    fc.assert(fc.property(level, level, (a, b) => a >= b || positionOf(a) < positionOf(b)));
  });

  test('a level put on the stream is read from it to a tenth', () => {
    fc.assert(fc.property(level, (db) => Math.abs(levelAt(positionOf(db)) - db) < 0.051));
  });

  test('a place gives a level that a session takes', () => {
    fc.assert(
      fc.property(fc.double({ min: -2, max: 3, noNaN: true }), (place) => {
        const db = levelAt(place);
        return db === CLOSED_DB || (db >= -60 && db <= LOUDEST_DB);
      }),
    );
  });
});

describe('steps of the keyboard', () => {
  test('a tenth of a dB up and down comes back to where it was', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: -590, max: 230 }),
        (tenths) => stepLevel(stepLevel(tenths / 10, 0.1), -0.1) === tenths / 10,
      ),
    );
  });

  test('below -60 dB the way shuts, and one step up opens it at -60', () => {
    expect(stepLevel(-59.8, -0.5)).toBe(CLOSED_DB);
    expect(stepLevel(CLOSED_DB, -3)).toBe(CLOSED_DB);
    expect(stepLevel(CLOSED_DB, 0.1)).toBe(-60);
  });

  test('nothing goes past the loudest', () => {
    expect(stepLevel(23.9, 3)).toBe(LOUDEST_DB);
    expect(clampLevel(1000)).toBe(LOUDEST_DB);
  });
});

describe('the drawn stream', () => {
  test('is half as wide 15 dB down', () => {
    expect(halfWidthAt(-15) / halfWidthAt(0)).toBeCloseTo(10 ** (-15 / 50), 12);
    expect(halfWidthAt(-15)).toBeCloseTo(0.5, 2);
  });

  test('is not there when shut, and stays inside its box at the loudest', () => {
    expect(streamPath(100, 24, CLOSED_DB)).toBe('');
    const numbers = [...streamPath(100, 24, LOUDEST_DB).matchAll(/(-?[\d.]+),(-?[\d.]+)/g)];
    expect(numbers.length).toBeGreaterThan(20);
    for (const [, x, y] of numbers) {
      expect(Number(x)).toBeGreaterThanOrEqual(-0.001);
      expect(Number(x)).toBeLessThanOrEqual(100.001);
      expect(Number(y)).toBeGreaterThanOrEqual(0);
      expect(Number(y)).toBeLessThanOrEqual(24);
    }
  });
});
