import { expect, test } from 'vitest';
import { processors } from '../../src/dsp/core/registry.ts';
import { searched } from '../../src/ui/shared/searched.ts';

const found = (words: string): string[] => searched([...processors.values()], words).map(({ label }) => label);

test('what is called so comes before what is made for it, and all words must be there', () => {
  expect(found('delay')[0]).toBe('Delay');
  expect(found('delay').length).toBeGreaterThan(1);
  expect(found('delay xyz')).toEqual([]);
});

test('without words all come in their order', () => {
  expect(found('  ')).toEqual([...processors.values()].map(({ label }) => label));
});
