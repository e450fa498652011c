import { expect, test } from 'vitest';
import { noteMs, parseNoteValue } from '../../src/session/note-values.ts';

const ms = (note: string, tempo: number, meter: [number, 1 | 2 | 4 | 8 | 16] = [4, 4]): number =>
  noteMs(parseNoteValue(note)!, tempo, meter);

// ms = 60000 / BPM x note (quarter 1, dotted x 1.5, triplet x 2/3): the arithmetic of musical notation, where a dot
// adds half and a triplet is three in the time of two. Figures to four decimals, so the tolerance is half of the last.
test.each([
  [120, '1/4', 500],
  [120, '1/8', 250],
  [120, '1/8 dotted', 375],
  [120, '1/8 triplet', 166.6667],
  [120, '1/16', 125],
  [120, '1 bar', 2000],
  [90, '1/4', 666.6667],
  [90, '1/8', 333.3333],
  [90, '1/8 dotted', 500],
  [90, '1/8 triplet', 222.2222],
  [128, '1/4', 468.75],
  [128, '1/8', 234.375],
  [128, '1/8 dotted', 351.5625],
  [128, '1/8 triplet', 156.25],
  [174, '1/4', 344.8276],
  [174, '1/8', 172.4138],
  [174, '1/8 dotted', 258.6207],
  [174, '1/8 triplet', 114.9425],
])('at %d quarters a minute %s lasts %d ms', (tempo, note, expected) => {
  expect(Math.abs(ms(note, tempo) - expected)).toBeLessThanOrEqual(0.00005);
});

test('1/8 at 140 and 48 kHz is 10285.714 samples: the fraction is kept here, rounding is the delay’s own', () => {
  expect((ms('1/8', 140) * 48_000) / 1000).toBeCloseTo(10_285.714, 3);
  expect((ms('1/8', 120) * 48_000) / 1000).toBe(12_000);
});

test('a bar follows the meter: 3/4 is three quarters, 6/8 six eighths, 7/8 seven', () => {
  expect(ms('1 bar', 120, [3, 4])).toBe(1500);
  expect(ms('1 bar', 120, [6, 8])).toBe(1500);
  expect(ms('1 bar', 120, [7, 8])).toBe(1750);
  expect(ms('2 bars', 120, [4, 4])).toBe(4000);
});
