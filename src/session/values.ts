import type { StereoSound } from '../audio/audio.ts';
import type { ChainStep, ProcessorStep } from '../dsp/core/chain.ts';
import type { PreparedLine } from '../dsp/core/line.ts';
import { valuesFrom, type Parameter, type Setting, type Settings, type Values } from '../dsp/core/parameter.ts';
import { processorOf } from '../dsp/core/registry.ts';
import type { MixLines, StepLines } from '../dsp/core/step-lines.ts';
import { isSplit } from './chain/chain-items.ts';
import type { ChainLines, ItemLines } from './chain/moved-settings.ts';
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

/**
 * Mix of an item as shares; absent at 100 %, so that chains that differ only in an unused law are equal. A line of the mix needs the law
 * anyhow.
 */
const wetDryOf = ({ mix, law }: ChainItem, moved: ItemLines['mix']): Pick<ChainStep, 'wetDry'> => {
  const wet = moved?.first ?? mix / 100;
  return wet === 1 && !moved?.line ? {} : { wetDry: { wet, law } };
};

const mixLinesOf = (lines: ItemLines | undefined): MixLines => ({
  ...(lines?.mix?.line && { wet: lines.mix.line }),
  ...(lines?.bypass?.line && { bypass: lines.bypass.line }),
});

/** Lines as a step has them, where there are any. */
const linesOf = <L extends StepLines>(lines: L): { lines?: L } => (Object.keys(lines).length > 0 ? { lines } : {});

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
  moved: ItemLines | undefined,
): ProcessorStep => {
  const sound = item.sound === undefined ? undefined : sounds?.get(item.sound);
  const parameters = [...(moved?.parameters ?? [])];
  const first = Object.fromEntries(parameters.map(([id, setting]) => [id, setting.first]));
  const moving = parameters.flatMap(([id, { line }]): [string, PreparedLine][] => (line ? [[id, line]] : []));
  const lines = {
    ...mixLinesOf(moved),
    ...(moving.length > 0 && { parameters: Object.fromEntries(moving) }),
  };
  const values = { ...valuesOf(item, tempo, meter), ...first };
  return {
    processor: item.processor,
    values,
    ...(sound && { sound }),
    ...wetDryOf(item, moved?.mix),
    ...linesOf<StepLines>(lines),
  };
};

/** Whether an item runs: it is on, or a line switches it. */
const runs = ({ id, on }: ChainItem, lines: ChainLines | undefined): boolean => {
  const bypass = lines?.get(id)?.bypass;
  return bypass ? bypass.line !== null || bypass.first === 0 : on;
};

/**
 * A checked chain as kernels run it: what is switched on, each processor with a number for every parameter. A split in
 * which nothing is on is left out. `sounds`, by file, hold what the items name, at the session's rate; an item whose sound is
 * not there gets none. Note values become ms at this tempo (quarter notes a minute) and meter; beyond the parameter's
 * range its end is taken. `lines` stand in for the settings that they move.
 */
export const stepsOf = (
  chain: ChainItems,
  tempo: number,
  meter: Session['meter'],
  sounds?: Sounds,
  lines?: ChainLines,
): ChainStep[] => {
  const stepOf = (item: ProcessorItem): ProcessorStep => processorStep(item, tempo, meter, sounds, lines?.get(item.id));
  return chain
    .filter((item) => runs(item, lines))
    .flatMap((item): ChainStep[] => {
      if (!isSplit(item)) return [stepOf(item)];
      const split = item.split.filter((inner) => runs(inner, lines)).map(stepOf);
      const moved = lines?.get(item.id);
      return split.length === 0 ? [] : [{ split, ...wetDryOf(item, moved?.mix), ...linesOf(mixLinesOf(moved)) }];
    });
};
