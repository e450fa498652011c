import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  dragRange,
  envelopePath,
  extended,
  holdsSection,
  loopName,
  secondsAt,
  xAt,
} from '../../src/ui/song-strip/strip-geometry.ts';

const song = { tempo: 96, meter: [4, 4] as [number, 4], tempoChanges: [], meterChanges: [] };
const SECONDS = 72;
const WHOLE = { startSeconds: 0, endSeconds: SECONDS };
const sections = [
  { name: 'Verse', startSeconds: 10, endSeconds: 30 },
  { name: 'Chorus', startSeconds: 30, endSeconds: 40 },
];

describe('places in the song', () => {
  test('a place on the strip and its time are one', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: SECONDS, noNaN: true }),
        (at) => Math.abs(secondsAt(xAt(at, 1000, WHOLE), 1000, WHOLE) - at) < 1e-9,
      ),
    );
  });

  test('beyond the strip is the end of the song, and a strip without width is its start', () => {
    expect(secondsAt(5000, 1000, WHOLE)).toBe(SECONDS);
    expect(secondsAt(-5, 1000, WHOLE)).toBe(0);
    expect(secondsAt(5, 0, WHOLE)).toBe(0);
  });
});

describe('loops', () => {
  test('a drag in either direction loops whole beats, one at least, within the song', () => {
    const time = fc.double({ min: 0, max: SECONDS, noNaN: true });
    fc.assert(
      fc.property(time, time, (from, to) => {
        const { startSeconds, endSeconds } = dragRange(from, to, song, SECONDS);
        expect(dragRange(to, from, song, SECONDS)).toEqual({ startSeconds, endSeconds });
        expect(startSeconds).toBeGreaterThanOrEqual(0);
        expect(endSeconds).toBeLessThanOrEqual(SECONDS);
        expect((startSeconds / 0.625) % 1).toBeCloseTo(Math.round((startSeconds / 0.625) % 1), 6);
        if (startSeconds < SECONDS - 0.625) expect(endSeconds - startSeconds).toBeGreaterThanOrEqual(0.625 - 1e-9);
      }),
    );
  });

  test('a loop stretched by a section holds both', () => {
    expect(extended({ startSeconds: 10, endSeconds: 12 }, sections[1]!)).toEqual({ startSeconds: 10, endSeconds: 40 });
    expect(extended(null, sections[0]!)).toMatchObject({ startSeconds: 10, endSeconds: 30 });
  });

  test('a loop is called by its sections, else by its bars', () => {
    expect(loopName(sections[1]!, sections, song)).toBe('Chorus');
    expect(loopName({ startSeconds: 10, endSeconds: 40 }, sections, song)).toBe('Verse to Chorus');
    expect(loopName({ startSeconds: 5, endSeconds: 10 }, sections, song)).toBe('bars 3.1 to 5.1');
    expect(loopName({ startSeconds: 11.875, endSeconds: 20 }, sections, song)).toBe('bars 5.4 to 9.1');
  });

  test('sections with names too long for the strip give way to bars', () => {
    const long = [{ ...sections[1]!, name: 'The chorus that comes after the second verse' }];
    expect(loopName(long[0]!, long, song)).toBe('bars 13.1 to 17.1');
  });

  test('a loop holds the sections that lie in it whole, the last as far as the song goes', () => {
    const last = { name: 'Out', startSeconds: 40, endSeconds: 90 };
    const held = (startSeconds: number, endSeconds: number) =>
      [...sections, last]
        .filter((one) => holdsSection({ startSeconds, endSeconds }, one, SECONDS))
        .map(({ name }) => name);
    expect(held(10, 40)).toEqual(['Verse', 'Chorus']);
    expect(held(11, 39)).toEqual([]);
    expect(held(30, SECONDS)).toEqual(['Chorus', 'Out']);
    expect(holdsSection(null, last, SECONDS)).toBe(false);
  });
});

test('the envelope keeps a single peak whatever the width', () => {
  const max = new Float32Array(1000);
  max[617] = 0.8;
  const overview = { max, min: new Float32Array(1000), secondsPerColumn: 0.072 };
  for (const width of [40, 333, 1000]) {
    const heights = [...envelopePath(overview, width, 102, WHOLE).matchAll(/,(-?[\d.]+)/g)].map(([, y]) => Number(y));
    expect(Math.min(...heights)).toBeCloseTo(51 - 0.8 * 50, 1);
    expect(Math.max(...heights)).toBe(51);
  }
});
