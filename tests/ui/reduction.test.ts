import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { processorOf } from '../../src/dsp/core/registry.ts';
import { drawnStretch } from '../../src/ui/bench/heard-stretch.ts';
import { histogramPath } from '../../src/ui/picture/histogram.ts';
import { columnsOf, depthOf, reductionArea } from '../../src/ui/workbench/reduction-geometry.ts';

describe('the stretch that is drawn', () => {
  test('is the loop, or 20 s around the position, moved on in steps', () => {
    expect(drawnStretch({ startSeconds: 10, endSeconds: 30 }, 3, 200)).toEqual({ startSeconds: 10, endSeconds: 30 });
    expect(drawnStretch(null, 0, 200)).toEqual({ startSeconds: 0, endSeconds: 20 });
    expect(drawnStretch(null, 47, 200)).toEqual(drawnStretch(null, 42, 200));
    expect(drawnStretch(null, 12, 15)).toEqual({ startSeconds: 0, endSeconds: 15 });
  });

  test('holds the position with some seconds on both sides, within the song, and is never longer than a minute', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 299, noNaN: true }), fc.boolean(), (position, looped) => {
        const { startSeconds, endSeconds } = drawnStretch(
          looped ? { startSeconds: 0, endSeconds: 300 } : null,
          position,
          300,
        );
        expect(startSeconds).toBeGreaterThanOrEqual(0);
        expect(endSeconds).toBeLessThanOrEqual(300);
        expect(endSeconds - startSeconds).toBeCloseTo(looped ? 60 : 20, 6);
        expect(position - startSeconds).toBeGreaterThanOrEqual(Math.min(position, looped ? 15 : 5) - 1e-6);
        expect(endSeconds - position).toBeGreaterThanOrEqual(Math.min(300 - position, looped ? 15 : 5) - 1e-6);
      }),
    );
  });
});

describe('the chart of what is turned down', () => {
  const points = Float32Array.from([0, 1, 2, 7, 0, 0]);

  test('keeps the largest of what shares a column', () => {
    expect(columnsOf(points, 3)).toEqual([1, 7, 0]);
    expect(columnsOf(points, 100)).toHaveLength(6);
  });

  test('reaches to the next six dB, and hangs from the top by as much as was turned down', () => {
    expect(depthOf(points)).toBe(12);
    expect(depthOf(new Float32Array(3))).toBe(6);
    // 7 of 12 dB of 60 px.
    expect(reductionArea(points, 12, 60, 60)).toContain(',35L');
  });
});

test('the bars of a histogram stand at their levels, the tallest highest', () => {
  const { picture } = processorOf('compressor');
  const frame = { width: 60, height: 100, left: 0, right: 0, top: 0, bottom: 0 };
  const shares = Array.from({ length: 60 }, (_, db) => (db === 20 ? 0.5 : db === 40 ? 0.25 : 0));
  const path = histogramPath(picture, { lowDb: -60, shares }, frame);
  expect(path).toContain('H20V55H21');
  expect(path).toContain('H40V77.5H41');
  expect(histogramPath(picture, { lowDb: -60, shares: shares.map(() => 0) }, frame)).toBe('');
});
