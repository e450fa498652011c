import fc from 'fast-check';
import { expect, test } from 'vitest';
import { processorOf } from '../../src/dsp/registry.ts';
import type { ChainItem } from '../../src/session/schema.ts';
import { stepsOf } from '../../src/session/values.ts';
import { chains } from '../helpers/session-arbitrary.ts';

const gain = (fields: Partial<ChainItem>): ChainItem => ({
  id: 'gain',
  processor: 'gain',
  on: true,
  settings: {},
  ...fields,
});

test('settings become numbers: a choice its index, what is left out its default', () => {
  const chain = [gain({ settings: { polarity: 'left inverted' } }), gain({ settings: { gain: -3 } })];
  expect(stepsOf(chain, 120, [4, 4])).toEqual([
    { processor: 'gain', values: { gain: 0, polarity: 2 } },
    { processor: 'gain', values: { gain: -3, polarity: 0 } },
  ]);
});

test('what is switched off is left out', () => {
  expect(stepsOf([gain({ on: false }), gain({ settings: { gain: 1 } })], 120, [4, 4])).toHaveLength(1);
});

test('whatever a chain may hold becomes finite numbers within range, one for every parameter', () => {
  fc.assert(
    fc.property(chains, fc.double({ min: 20, max: 400, noNaN: true }), (chain, tempo) => {
      for (const { processor, values } of stepsOf(chain, tempo, [4, 4])) {
        const { parameters } = processorOf(processor);
        expect(Object.keys(values)).toEqual(Object.keys(parameters));
        for (const [id, parameter] of Object.entries(parameters)) {
          const [min, max] =
            parameter.kind === 'number'
              ? [parameter.min, parameter.max]
              : [0, parameter.kind === 'choice' ? parameter.choices.length - 1 : 1];
          expect(values[id]).toBeGreaterThanOrEqual(min);
          expect(values[id]).toBeLessThanOrEqual(max);
        }
      }
    }),
  );
});
