import type { Parameter, Setting, Settings } from '../../dsp/core/parameter.ts';
import { processorOf } from '../../dsp/core/registry.ts';
import { allItems, isSplit } from './chain-items.ts';
import type { ChainItem, ChainItems, ProcessorItem } from '../schema.ts';

/** A setting as it is read aloud: "-18.0 dB", "4.0:1", "1/8 dotted", "on". */
export const settingText = (parameter: Parameter, setting: Setting): string => {
  if (parameter.kind === 'switch') return setting === true ? 'on' : 'off';
  if (parameter.kind === 'choice' || typeof setting !== 'number') return String(setting);
  const { unit, digits } = parameter;
  return `${setting.toFixed(digits)}${unit === '' || unit === ':1' ? unit : ` ${unit}`}`;
};

/** Groups of parameters that a switch of their own, called "….on", has switched off. */
const groupsOff = (parameters: Readonly<Record<string, Parameter>>, settings: Settings): Set<string | undefined> =>
  new Set(
    Object.entries(parameters)
      .filter(([id, parameter]) => id.endsWith('.on') && (settings[id] ?? parameter.default) === false)
      .map(([, { group }]) => group),
  );

/** A label within a sentence: "RMS" and "Q" stay as they are written, "Low cut" does not. */
const withinSentence = (label: string): string => label.replace(/\b\p{Lu}\p{Ll}+/gu, (word) => word.toLowerCase());

/** Whether a parameter does something: the one that it depends on does, and has one of the settings named there. */
const counts = (
  { countsWhile }: Parameter,
  parameters: Readonly<Record<string, Parameter>>,
  settings: Settings,
): boolean => {
  if (!countsWhile) return true;
  const { parameter, is } = countsWhile;
  const other = parameters[parameter]!;
  return is.includes(settings[parameter] ?? other.default) && counts(other, parameters, settings);
};

/**
 * All settings of one processor, the defaults too, one line for each group of parameters: enough to set it again by
 * hand. Left out: groups that are switched off, and parameters that have no effect with the other settings as they are.
 */
export const settingLines = ({ processor, settings, sound }: ProcessorItem): string[] => {
  const { parameters, sound: soundLabel } = processorOf(processor);
  const off = groupsOff(parameters, settings);
  const lines = new Map<string, string[]>();
  for (const [id, parameter] of Object.entries(parameters)) {
    const { group = '', label } = parameter;
    if (!counts(parameter, parameters, settings)) continue;
    if ((group !== '' && off.has(group)) || id.endsWith('.on')) continue;
    const text = `${withinSentence(label)} ${settingText(parameter, settings[id] ?? parameter.default)}`;
    lines.set(group, [...(lines.get(group) ?? []), text]);
  }
  const settingTexts = [...lines].map(([group, texts]) =>
    (group === '' ? texts : [`${group}: ${texts[0]!}`, ...texts.slice(1)]).join(', '),
  );
  if (soundLabel === undefined) return settingTexts;
  return [`${withinSentence(soundLabel)} ${sound ?? 'not chosen'}`, ...settingTexts];
};

/** What an item is called where nothing is said of its state: the processor's label, or "Split". */
export const itemLabel = (item: ChainItem): string => (isSplit(item) ? 'Split' : processorOf(item.processor).label);

/** All items of a chain by id, those of splits too: "EQ", and "EQ 2" for a second one. */
export const itemNames = (chain: ChainItems): Map<string, string> => {
  const count = new Map<string, number>();
  return new Map(
    allItems(chain).map((item) => {
      const label = itemLabel(item);
      const n = (count.get(label) ?? 0) + 1;
      count.set(label, n);
      return [item.id, n === 1 ? label : `${label} ${n}`];
    }),
  );
};

/** The mix of an item, as words; '' at 100 %. */
export const mixText = ({ mix, law }: Pick<ChainItem, 'mix' | 'law'>): string =>
  mix === 100 ? '' : `mix ${Number(mix.toFixed(1))} %${law === 'linear' ? '' : `, ${law}`}`;

/** Name of an item as a recall sheet calls it; a mix below 100 % and a bypass are said. */
export const itemTitle = (item: ChainItem): string => {
  const state = [mixText(item), item.on ? '' : 'bypassed'].filter((text) => text !== '').join(', ');
  return `${itemLabel(item)}${state === '' ? '' : ` (${state})`}`;
};
