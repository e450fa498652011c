import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { bedsOf, joiningPath, reachesOf } from '../../src/ui/path-table/river.ts';

const WIDTH = 48;
const tributaries = fc
  .array(fc.double({ min: -0.4, max: 1, noNaN: true }), { maxLength: 40 })
  .map((shares) => shares.map((share, i) => ({ id: `p${i}`, share, hue: 'red' })));

describe('the river of shares', () => {
  test('paths that bring all there is fill the river, each as wide as its share', () => {
    const beds = bedsOf(
      [
        { id: 'a', share: 0.5, hue: 'red' },
        { id: 'b', share: 0.25, hue: 'blue' },
        { id: 'c', share: 0.25, hue: 'green' },
      ],
      WIDTH,
    );
    expect(beds.map(({ left, right }) => [left, right])).toEqual([
      [24, 48],
      [12, 24],
      [0, 12],
    ]);
  });

  test('beds lie side by side, within the banks, and none crosses another', () => {
    fc.assert(
      fc.property(tributaries, (list) => {
        const beds = bedsOf(list, WIDTH);
        beds.forEach(({ left, right }, i) => {
          expect(left).toBeGreaterThanOrEqual(0);
          expect(right).toBeGreaterThanOrEqual(left);
          expect(right).toBe(i === 0 ? WIDTH : beds[i - 1]!.left);
        });
      }),
    );
  });

  test('a path that takes away has no bed', () => {
    expect(bedsOf([{ id: 'a', share: -0.1, hue: 'red' }], WIDTH)).toEqual([]);
  });

  test('each row is passed by exactly those that joined above it', () => {
    fc.assert(
      fc.property(tributaries, (list) => {
        reachesOf(list, WIDTH).forEach(({ passing, joining }, row) => {
          expect(passing.map(({ id }) => id)).toEqual(
            list
              .slice(0, row)
              .filter(({ share }) => share > 0)
              .map(({ id }) => id),
          );
          expect(joining?.id ?? null).toBe(list[row]!.share > 0 ? list[row]!.id : null);
        });
      }),
    );
  });

  test('a stream that brings everything still fits its row', () => {
    const [bed] = bedsOf([{ id: 'a', share: 1, hue: 'red' }], WIDTH);
    const numbers = [...joiningPath(bed!, 34).matchAll(/-?[\d.]+/g)].map(Number);
    expect(Math.max(...numbers)).toBeLessThanOrEqual(WIDTH);
    expect(Math.min(...numbers)).toBeGreaterThanOrEqual(0);
  });
});
