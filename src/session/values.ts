import type { StereoSound } from '../audio/audio.ts';
import type { ChainStep, ProcessorStep } from '../dsp/core/chain.ts';
import { valuesFrom, type Parameter, type Setting, type Settings, type Values } from '../dsp/core/parameter.ts';
import { processorOf } from '../dsp/core/registry.ts';
import { isSplit } from './chain-items.ts';
import { noteMs, parseNoteValue } from './note-values.ts';
import type { ChainItem, ChainItems, ProcessorItem, Session } from './schema.ts';

/** A note value as ms within the parameter's range; any other setting as it is. */
const timed = (parameter: Parameter, setting: Setting, tempo: number, meter: Session['meter']): Setting => {
  if (parameter.kind !== 'number' || typeof setting !== 'string') return setting;
  const note = parseNoteValue(setting);
  if (!note) throw new RangeError(`"${setting}" is no note value: sessions are checked before they reach here`);
  return Math.min(parameter.max, Math.max(parameter.min, noteMs(note, tempo, meter)));
};

type Sounds = ReadonlyMap<string, StereoSound>;

/** Mix of an item as shares; absent at 100 %, so that chains that differ only in an unused law are equal. */
const wetDryOf = ({ mix, law }: ChainItem): Pick<ChainStep, 'wetDry'> =>
  mix === 100 ? {} : { wetDry: { wet: mix / 100, law } };

/** The numbers that a processor runs with, whether it is on or not. */
export const valuesOf = ({ processor, settings }: ProcessorItem, tempo: number, meter: Session['meter']): Values => {
  const { parameters } = processorOf(processor);
  const plain: Settings = Object.fromEntries(
    Object.entries(settings).map(([id, setting]) => [id, timed(parameters[id]!, setting, tempo, meter)]),
  );
  return valuesFrom(parameters, plain);
};

const processorStep = (
  item: ProcessorItem,
  tempo: number,
  meter: Session['meter'],
  sounds: Sounds | undefined,
): ProcessorStep => {
  const sound = item.sound === undefined ? undefined : sounds?.get(item.sound);
  const values = valuesOf(item, tempo, meter);
  return { processor: item.processor, values, ...(sound && { sound }), ...wetDryOf(item) };
};

/**
 * A checked chain as kernels run it: what is switched on, each processor with a number for every parameter. A split in
 * which nothing is on is left out. `sounds`, by file, hold what the items name, at the session's rate; an item whose sound is
 * not there gets none. Note values become ms at this tempo (quarter notes a minute) and meter; beyond the parameter's
 * range its end is taken.
 */
export const stepsOf = (chain: ChainItems, tempo: number, meter: Session['meter'], sounds?: Sounds): ChainStep[] =>
  chain
    .filter(({ on }) => on)
    .flatMap((item): ChainStep[] => {
      if (!isSplit(item)) return [processorStep(item, tempo, meter, sounds)];
      const split = item.split.filter(({ on }) => on).map((inner) => processorStep(inner, tempo, meter, sounds));
      return split.length === 0 ? [] : [{ split, ...wetDryOf(item) }];
    });
