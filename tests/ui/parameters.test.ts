import { describe, expect, test } from 'vitest';
import { processors } from '../../src/dsp/core/registry.ts';
import { groupsOf, sharedWord } from '../../src/ui/workbench/parameter-groups.ts';
import { placeOf, stepValue, valueAt } from '../../src/ui/workbench/parameter-scale.ts';

const all = [...processors.values()].flatMap(({ id, parameters }) =>
  Object.entries(parameters).map(([name, parameter]) => ({ name: `${id} ${name}`, parameter })),
);
const numbers = all.flatMap(({ name, parameter }) => (parameter.kind === 'number' ? [{ name, parameter }] : []));

test('there are processors to look at', () => {
  expect(numbers.length).toBeGreaterThan(10);
});

describe.each(numbers)('$name', ({ parameter }) => {
  test('both ends of the control are the ends of the range', () => {
    expect(valueAt(parameter, 0)).toBe(parameter.min);
    expect(valueAt(parameter, 1)).toBe(parameter.max);
    expect(placeOf(parameter, parameter.min)).toBe(0);
    expect(placeOf(parameter, parameter.max)).toBe(1);
  });

  test('every step of the keyboard moves it, and stays in the range', () => {
    for (const size of ['plain', 'large', 'page'] as const) {
      for (const place of [0, 0.1, 0.5, 0.9]) {
        const value = valueAt(parameter, place);
        const next = stepValue(parameter, value, 1, size);
        expect(next).toBeGreaterThan(value);
        expect(next).toBeLessThanOrEqual(parameter.max);
      }
      expect(stepValue(parameter, parameter.max, 1, size)).toBe(parameter.max);
      expect(stepValue(parameter, parameter.min, -1, size)).toBe(parameter.min);
    }
  });

  test('ten plain steps come as far as one large one', () => {
    const start = valueAt(parameter, 0.5);
    let value = start;
    for (let n = 0; n < 10; n++) value = stepValue(parameter, value, 1, 'plain');
    const large = stepValue(parameter, start, 1, 'large');
    // Each step is rounded to the last digit shown, and is at least that digit.
    expect(Math.abs(value - large)).toBeLessThanOrEqual(10.5 * 10 ** -parameter.digits);
  });
});

test('a level moves by 0.1 dB, with a large step by 1 dB', () => {
  for (const { parameter } of numbers.filter(({ parameter: { unit } }) => unit === 'dB')) {
    const value = valueAt(parameter, 0.5);
    const step = parameter.digits === 0 ? 1 : 0.1;
    expect(stepValue(parameter, value, -1, 'plain') - value).toBeCloseTo(-step, 9);
    expect(stepValue(parameter, value, 1, 'large') - value).toBeCloseTo(10 * step, 9);
  }
});

test.each([...processors.values()].map((processor) => [processor.id, processor] as const))(
  'every parameter of %s is drawn in exactly one group',
  (_, { parameters }) => {
    const drawn = groupsOf(parameters).flatMap((group) => group.parameters.map(([id]) => id));
    expect([...drawn].sort()).toEqual(Object.keys(parameters).sort());
  },
);

test('numbered parts share a word, others do not', () => {
  expect(sharedWord(['Band 1', 'Band 2'])).toBe('Band');
  expect(sharedWord(['Main', 'Side-chain'])).toBeNull();
  expect(sharedWord(['Band 1', 'Band 2', 'All bands'])).toBe('Band');
  expect(sharedWord(['Band 1', 'Out'])).toBeNull();
  expect(sharedWord(['Main', 'Band 1', 'Band 2'])).toBeNull();
  expect(sharedWord(['Band 1', 'Part 2'])).toBeNull();
  expect(sharedWord([])).toBeNull();
});
