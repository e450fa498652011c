import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { TempoMap } from '../../src/session/tempo-map.ts';
import { loudnessAt, loudnessPath } from '../../src/ui/song-strip/loudness-line.ts';
import { keptWithin, sectionEdges } from '../../src/ui/song-strip/section-edges.ts';
import { snapped } from '../../src/ui/song-strip/snap.ts';
import { covers, dragRange, envelopePath, isFine, secondsAt, xAt } from '../../src/ui/song-strip/strip-geometry.ts';
import { fittedRange, following, scrolled, wholeSong, zoomed } from '../../src/ui/song-strip/strip-range.ts';

// What is expected follows by arithmetic from the ranges.
const SECONDS = 240;
const RATE = 48_000;
const song = { tempo: 120, meter: [4, 4] as [number, 4], tempoChanges: [], meterChanges: [] };

describe('a strip that shows a part of the song', () => {
  test('keeps what the pointer is on where it is while it zooms, and stays within the song', () => {
    const part = fc.double({ min: 0, max: 1, noNaN: true });
    const factor = fc.double({ min: 0.2, max: 5, noNaN: true });
    fc.assert(
      fc.property(part, factor, (at, times) => {
        const before = { startSeconds: 100, endSeconds: 110 };
        const anchor = 100 + 10 * at;
        const after = zoomed(before, times, anchor, SECONDS, RATE);
        expect(xAt(anchor, 1000, after)).toBeCloseTo(xAt(anchor, 1000, before), 6);
        expect(after.endSeconds - after.startSeconds).toBeCloseTo(10 / times, 9);
      }),
    );
    expect(zoomed({ startSeconds: 0, endSeconds: 10 }, 0.5, 9, SECONDS, RATE)).toEqual({
      startSeconds: 0,
      endSeconds: 20,
    });
  });

  test('goes down to single samples and no further, and up to the whole song', () => {
    const close = zoomed(wholeSong(SECONDS), 1e9, 12, SECONDS, RATE);
    expect(Math.round((close.endSeconds - close.startSeconds) * RATE)).toBe(48);
    expect(zoomed(close, 1e-9, 12, SECONDS, RATE)).toEqual(wholeSong(SECONDS));
    expect(fittedRange({ startSeconds: -3, endSeconds: SECONDS }, SECONDS)).toBeNull();
    expect(fittedRange({ startSeconds: 230, endSeconds: 250 }, SECONDS)).toEqual({
      startSeconds: 220,
      endSeconds: 240,
    });
  });

  test('scrolls as far as the song goes, and goes along with the playhead that leaves it', () => {
    const range = { startSeconds: 100, endSeconds: 110 };
    expect(scrolled(range, -200, SECONDS)).toEqual({ startSeconds: 0, endSeconds: 10 });
    expect(following(range, 105, SECONDS)).toBe(range);
    expect(following(range, 110.5, SECONDS)).toEqual({ startSeconds: 109.5, endSeconds: 119.5 });
    expect(following(range, 2, SECONDS)).toEqual({ startSeconds: 1, endSeconds: 11 });
  });

  test('tells places of its own range', () => {
    const range = { startSeconds: 100, endSeconds: 110 };
    expect(xAt(102.5, 800, range)).toBeCloseTo(200, 9);
    expect(secondsAt(200, 800, range)).toBeCloseTo(102.5, 9);
    expect(secondsAt(-9, 800, range)).toBe(100);
  });
});

test('loops and edges snap to bars, beats or nothing', () => {
  const map = new TempoMap(song);
  // At 120 BPM in 4/4 a bar is 2 s and a beat 0.5 s.
  expect([snapped(3.3, map, 'bars'), snapped(3.3, map, 'beats'), snapped(3.3, map, 'off')]).toEqual([4, 3.5, 3.3]);
  expect(dragRange(3.3, 3.4, song, SECONDS, 'bars')).toEqual({ startSeconds: 4, endSeconds: 6 });
  expect(dragRange(3.3, 3.9, song, SECONDS, 'off')).toEqual({ startSeconds: 3.3, endSeconds: 3.9 });
});

test('an overview of a stretch is drawn where it lies, and is fine enough or not', () => {
  const max = new Float32Array(100);
  max[50] = 1;
  const detail = { min: new Float32Array(100), max, secondsPerColumn: 0.01, startSeconds: 10 };
  const range = { startSeconds: 10.25, endSeconds: 10.75 };
  const points = [...envelopePath(detail, 100, 102, range).matchAll(/(-?[\d.]+),(-?[\d.]+)/g)];
  const peak = points.find(([, , y]) => Number(y) === 1)!;
  // 10.5 s is the middle of the range.
  expect(Number(peak[1])).toBeCloseTo(50, -0.5);
  expect(covers(detail, range)).toBe(true);
  expect(covers(detail, { startSeconds: 9, endSeconds: 10.5 })).toBe(false);
  expect(isFine(detail, 50, range)).toBe(true);
  expect(isFine(detail, 100, range)).toBe(false);
});

test('bounds of sections are each there once, and keep out of each other', () => {
  const sections = [
    { name: 'Verse', startSeconds: 8, endSeconds: 24 },
    { name: 'Chorus', startSeconds: 24, endSeconds: 40 },
  ];
  const edges = sectionEdges(sections, 60);
  expect(edges.map(({ name, at }) => [name, at])).toEqual([
    ['Start of Verse', 8],
    ['Verse to Chorus', 24],
    ['End of Chorus', 40],
  ]);
  expect(keptWithin(edges[1]!, 3)).toBeCloseTo(8.05, 9);
  expect(keptWithin(edges[1]!, 100)).toBeCloseTo(39.95, 9);
  expect(keptWithin(edges[0]!, 0)).toBe(0);
  expect(keptWithin(edges[2]!, 60)).toBe(60);
});

test('the loudness line is broken where there is no loudness', () => {
  const shortTermLufs = Float32Array.from([-Infinity, -50, -25, NaN, 0]);
  const course = { shortTermLufs, hopSeconds: 1 };
  // -50 LUFS at the lower edge, 0 at the upper one.
  expect(loudnessPath(course, 100, 50, { startSeconds: 0, endSeconds: 10 })).toBe('M20 50L30 25M50 0');
  expect(loudnessAt(course, 2.5)).toBe(-25);
  expect(loudnessAt(course, 3.5)).toBeNull();
});
