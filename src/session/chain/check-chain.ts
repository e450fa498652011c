import type { NumberParameter, Parameter, Setting } from '../../dsp/core/parameter.ts';
import { processors } from '../../dsp/core/registry.ts';
import { isSplit } from './chain-items.ts';
import { nearestNames } from '../near-names.ts';
import { parseNoteValue } from '../note-values.ts';
import { described, listed } from '../problem.ts';
import { pathText, type Fault, type JsonPath } from '../read/reading-order.ts';
import type { ChainItem, ChainItems, ProcessorItem } from '../schema.ts';

type Refusal = Pick<Fault, 'code' | 'expected'>;

const withUnit = (value: number, unit: string): string =>
  unit === '' || unit === ':1' ? `${value}${unit}` : `${value} ${unit}`;

const numberRefusal = (parameter: NumberParameter, setting: Setting): Refusal | null => {
  const { min, max, unit, noteValues } = parameter;
  const range = `between ${min} and ${withUnit(max, unit)}`;
  if (typeof setting === 'number') {
    return setting >= min && setting <= max ? null : { code: 'out-of-range', expected: range };
  }
  if (!noteValues) return { code: 'wrong-type', expected: `a number ${range}` };
  if (typeof setting === 'string' && parseNoteValue(setting)) return null;
  return { code: 'wrong-type', expected: `a number ${range}, or a note value such as "1/8 dotted"` };
};

const refusalOf = (parameter: Parameter, setting: Setting): Refusal | null => {
  if (parameter.kind === 'number') return numberRefusal(parameter, setting);
  if (parameter.kind === 'switch') {
    return typeof setting === 'boolean' ? null : { code: 'wrong-type', expected: 'true or false' };
  }
  if (typeof setting === 'string' && parameter.choices.includes(setting)) return null;
  return { code: typeof setting === 'string' ? 'unknown-name' : 'wrong-type', expected: listed(parameter.choices) };
};

/** What is wrong with a setting that stands at `path`; null when nothing is. */
export const checkSetting = (parameter: Parameter, setting: Setting, path: JsonPath): Fault | null => {
  const refusal = refusalOf(parameter, setting);
  return refusal && { ...refusal, path, found: described(setting) };
};

/** A sound named where none can be worked with. */
const soundFaults = ({ processor, sound }: ProcessorItem, path: JsonPath): Fault[] => {
  if (sound === undefined || processors.get(processor)?.sound !== undefined) return [];
  const expected = `nothing, as ${described(processor)} works with no sound of its own`;
  return [{ code: 'out-of-range', path: [...path, 'sound'], expected, found: described(sound) }];
};

/** Up to so many names are listed in full in a sentence. */
const FEW = 5;

/** What could have stood in place of a setting called `name`: all that there are, or the nearest of many. */
const settingsNear = (name: string, names: readonly string[]): string =>
  names.length <= FEW ? listed(names) : `one of its ${names.length}, such as ${listed(nearestNames(name, names))}`;

const checkProcessor = (item: ProcessorItem, path: JsonPath): Fault[] => {
  const processor = processors.get(item.processor);
  if (!processor) {
    const expected = listed([...processors.keys()].sort());
    return [{ code: 'unknown-processor', path: [...path, 'processor'], expected, found: described(item.processor) }];
  }
  const { parameters } = processor;
  const settingFaults = Object.entries(item.settings).flatMap(([name, setting]): Fault[] | Fault => {
    const place = [...path, 'settings', name];
    const parameter = Object.hasOwn(parameters, name) ? parameters[name] : undefined;
    if (parameter) return checkSetting(parameter, setting, place) ?? [];
    const expected = settingsNear(name, Object.keys(parameters));
    return { code: 'unknown-parameter', path: place, expected, found: described(setting) };
  });
  return [...soundFaults(item, path), ...settingFaults];
};

/** An item and where it stands. */
interface Placed {
  readonly item: ChainItem;
  readonly path: JsonPath;
}

/** All items of a chain that stands at `path`, each split before what stands in it. */
const placedItems = (chain: ChainItems, path: JsonPath): Placed[] =>
  chain.flatMap((item, n) => {
    const here = { item, path: [...path, n] };
    return isSplit(item) ? [here, ...placedItems(item.split, [...here.path, 'split'])] : [here];
  });

/** What is wrong with a chain that stands at `path`: processors, settings, ids that are given twice. */
export const checkChain = (chain: ChainItems, path: JsonPath): Fault[] => {
  const first = new Map<string, JsonPath>();
  return placedItems(chain, path).flatMap(({ item, path: place }) => {
    const problems = isSplit(item) ? [] : checkProcessor(item, place);
    const earlier = first.get(item.id);
    if (!earlier) {
      first.set(item.id, place);
      return problems;
    }
    const found = `${described(item.id)}, which ${pathText(earlier)} already has`;
    return [
      { code: 'duplicate-id' as const, path: [...place, 'id'], expected: 'an id of its own', found },
      ...problems,
    ];
  });
};
