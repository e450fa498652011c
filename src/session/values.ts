import type { ChainStep } from '../dsp/chain.ts';
import { valuesFrom, type Parameter, type Setting, type Settings } from '../dsp/parameter.ts';
import { processorOf } from '../dsp/registry.ts';
import { noteMs, parseNoteValue } from './note-values.ts';
import type { ChainItems, Session } from './schema.ts';

/** A note value as ms within the parameter's range; any other setting as it is. */
const timed = (parameter: Parameter, setting: Setting, tempo: number, meter: Session['meter']): Setting => {
  if (parameter.kind !== 'number' || typeof setting !== 'string') return setting;
  const note = parseNoteValue(setting);
  if (!note) throw new RangeError(`"${setting}" is no note value: sessions are checked before they reach here`);
  return Math.min(parameter.max, Math.max(parameter.min, noteMs(note, tempo, meter)));
};

/**
 * A checked chain as kernels run it: the processors that are switched on, each with a number for every parameter.
 * Note values become ms at this tempo (quarter notes a minute) and meter; beyond the parameter's range its end is taken.
 */
export const stepsOf = (chain: ChainItems, tempo: number, meter: Session['meter']): ChainStep[] =>
  chain
    .filter(({ on }) => on)
    .map(({ processor, settings }) => {
      const { parameters } = processorOf(processor);
      const plain: Settings = Object.fromEntries(
        Object.entries(settings).map(([id, setting]) => [id, timed(parameters[id]!, setting, tempo, meter)]),
      );
      return { processor, values: valuesFrom(parameters, plain) };
    });
