import { expect, test } from 'vitest';
import { peakOf } from '../../src/intake/rough/correlation.ts';
import { whiteNoise } from '../helpers/signals.ts';

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
