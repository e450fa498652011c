import { expect, test } from 'vitest';
import { peakOf } from '../../src/intake/rough/correlation.ts';
import { lagCourseOf } from '../../src/intake/rough/lag-course.ts';
import { whiteNoise } from '../helpers/signals.ts';
import { chance } from './multitrack.ts';

test.each([
  [37, 1],
  [-12, -1],
])('a copy that is %i samples late, times %i, is found there', (lag, polarity) => {
  const a = whiteNoise(0.02, 3);
  const b = a.map((_, n) => polarity * (a[n - lag] ?? 0));
  const peak = peakOf(a, b, -a.length, b.length)!;
  expect(Math.abs(peak.lag - lag)).toBeLessThan(0.1);
  expect(peak.polarity).toBe(polarity);
  // Strangers reach about 5.
  expect(peak.sharpness).toBeGreaterThan(12);
});

test('a bar of music that repeats is cut out, not quite to the bar: no stretch where a bar elsewhere is a little like it', () => {
  const [rate, bar, cut] = [4000, 3.6, 9.3];
  const next = chance(2);
  const song = Float32Array.from({ length: 24 * rate }, () => 0.1 * (next() - 0.5));
  // The same hit on every beat, as exactly as hands play it.
  for (let beat = 0; beat < 26; beat++) {
    const from = Math.round((0.1 + (beat * bar) / 4 + 0.004 * (next() - 0.5)) * rate);
    for (let n = 0; n < 800 && from + n < song.length; n++)
      song[from + n]! += Math.exp(-n / 100) * Math.sin((2 * Math.PI * 160 * n) / rate);
  }
  const skipped = bar + 0.009;
  const rough = Float32Array.from([
    ...song.subarray(0, cut * rate),
    ...song.subarray(Math.round((cut + skipped) * rate)),
  ]);
  const { stretches } = lagCourseOf(song, rough, rate)!;
  expect(stretches.length).toBe(2);
  const [before, after] = stretches;
  expect(before!.lagSeconds).toBeCloseTo(0, 3);
  expect(after!.lagSeconds).toBeCloseTo(-skipped, 3);
  // Compared in pieces of a tenth of a second.
  expect(Math.abs(before!.endSeconds - cut)).toBeLessThan(0.15);
  expect(Math.abs(after!.startSeconds - cut - skipped)).toBeLessThan(0.15);
});
