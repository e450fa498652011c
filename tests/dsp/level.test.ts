import { describe, expect, it } from 'vitest';
import { processors } from '../../src/dsp/core/registry.ts';
import { noise, stepOf, through } from '../helpers/chains.ts';
import { presets } from '../../src/session/presets/presets.ts';
import { processorItems } from '../../src/session/chain/chain-items.ts';
import { valuesOf, type stepsOf } from '../../src/session/values.ts';
import { dependsOnLevel } from '../../src/render/fit/fit-item.ts';

/** A limiter's ceiling is that of the delivery, whatever comes. */
const ABSOLUTE = ['limiter'];
const SONG = { tempo: 120, meter: [4, 4] as [number, 4] };
const DOWN = 2 ** -8;

/** Largest difference between what sound 48 dB softer becomes, brought up again, and what it becomes as it is; of its peak. */
const differenceOf = (steps: ReturnType<typeof stepsOf>): number => {
  const loud = noise(24_000, 7, 0.9);
  const soft = { left: loud.left.map((x) => DOWN * x), right: loud.right.map((x) => DOWN * x) };
  const [a, b] = [through(steps, loud), through(steps, soft)];
  let most = 0;
  for (const side of ['left', 'right'] as const)
    a[side].forEach((x, n) => (most = Math.max(most, Math.abs(x - b[side][n]! / DOWN))));
  return most;
};

describe('what says nothing of level does the same to soft sound and to loud', () => {
  it.each(
    [...processors.values()].filter(({ id }) => !ABSOLUTE.includes(id)).map(({ id, start }) => [id, start] as const),
  )('%s as it is added', (id, start) => {
    const step = stepOf(id, start);
    const item = { id, processor: id, on: true, mix: 100, law: 'linear', settings: start } as const;
    // 80 dB below the peak: floors that keep kernels from dividing by nothing are felt at -48 dB, and not heard.
    if (!dependsOnLevel(item, SONG)) expect(differenceOf([step])).toBeLessThan(1e-4);
    else expect(differenceOf([step])).toBeGreaterThan(1e-3);
  });

  it('and every preset that holds what depends on level says what it is written for', () => {
    for (const { name, chain, fit } of presets) {
      const depends = processorItems(chain).some((item) => dependsOnLevel(item, SONG));
      expect(fit !== undefined, name).toBe(depends);
      for (const item of processorItems(chain)) {
        const values = valuesOf(item, SONG.tempo, SONG.meter);
        expect([values.autoMakeUp ?? 0, values.keepLoudness ?? 0], `${name}: a running make-up`).toEqual([0, 0]);
      }
    }
  });
});
