import fc from 'fast-check';
import { expect, test } from 'vitest';
import { processorSteps, type ProcessorStep } from '../../src/dsp/core/chain.ts';
import { processorOf } from '../../src/dsp/core/registry.ts';
import type { ProcessorItem } from '../../src/session/schema.ts';
import { stepsOf } from '../../src/session/values.ts';
import { processorItem, splitItem } from '../helpers/chain-items.ts';
import { chains } from '../helpers/session-arbitrary.ts';

const gain = (fields: Partial<ProcessorItem>): ProcessorItem => processorItem('gain', fields);

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

test('shares beside the dry sound are told where something is dry; a split with nothing on is left out', () => {
  const { values } = stepsOf([gain({})], 120, [4, 4])[0] as ProcessorStep;
  const half = gain({ mix: 50, law: 'equal power' });
  const steps = stepsOf([splitItem([half, gain({ id: 'gain-2', on: false })], { mix: 25 })], 120, [4, 4]);
  expect(steps).toEqual([
    {
      split: [{ processor: 'gain', values, wetDry: { wet: 0.5, law: 'equal power' } }],
      wetDry: { wet: 0.25, law: 'linear' },
    },
  ]);
  expect(stepsOf([gain({ law: 'equal power' })], 120, [4, 4])).toEqual([{ processor: 'gain', values }]);
  expect(stepsOf([splitItem([gain({ on: false })])], 120, [4, 4])).toEqual([]);
});

test('whatever a chain may hold becomes finite numbers within range, one for every parameter', () => {
  fc.assert(
    fc.property(chains, fc.double({ min: 20, max: 400, noNaN: true }), (chain, tempo) => {
      for (const { processor, values } of stepsOf(chain, tempo, [4, 4]).flatMap(processorSteps)) {
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
