import { describe, expect, test } from 'vitest';
import { Chain } from '../../src/dsp/core/chain.ts';
import { processors } from '../../src/dsp/core/registry.ts';
import { noise, run, steady, stepOf } from '../helpers/chains.ts';
import { randomCorners } from '../helpers/corners.ts';
import { casesOf, sampleOf } from '../helpers/soak.ts';

// Neither browsers nor Node flush numbers below 2.2e-308, and many processors are slow with them. A memory that dies away
// in silence must not end among them. Time itself is not asserted: the memories are looked at.

/** The smallest number in full precision. */
const NORMAL = 2 ** -1022;
const isSubnormal = (x: number): boolean => x !== 0 && Math.abs(x) < NORMAL;

/** Paths of all numbers in an object, however deep, that are subnormal. */
function subnormalsIn(value: unknown, path = '', seen = new Set<object>()): string[] {
  if (typeof value === 'number') return isSubnormal(value) ? [`${path} = ${value}`] : [];
  if (typeof value !== 'object' || value === null || seen.has(value)) return [];
  seen.add(value);
  if (value instanceof Float64Array) return value.some(isSubnormal) ? [`${path}[${value.findIndex(isSubnormal)}]`] : [];
  if (ArrayBuffer.isView(value)) return [];
  return Object.entries(value).flatMap(([key, inner]) => subnormalsIn(inner, `${path}.${key}`, seen));
}

describe.each([...processors.keys()])('%s', (id) => {
  const processor = processors.get(id)!;

  test.each(sampleOf([1, 1e-150, 1e-250], 2))(
    'holds no subnormal numbers in the silence after noise of peak %f',
    (peak) => {
      for (const settings of [processor.start, ...randomCorners(processor, casesOf(1, 4), 51)]) {
        const chain = new Chain([stepOf(id, settings)], 48000, 128);
        run(chain, noise(4800, 9, peak));
        // What sleeps when nothing is left looks for that every second.
        run(chain, steady(0, 120000));
        expect(subnormalsIn(chain), JSON.stringify(settings)).toEqual([]);
      }
    },
  );
});
