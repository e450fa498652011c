import type { Setting } from '../dsp/core/parameter.ts';
import { processorOf } from '../dsp/core/registry.ts';
import { isSplit } from './chain-items.ts';
import { mixText } from './chain-words.ts';
import type { Preset } from './preset.ts';
import type { ChainItem, ChainItems, ProcessorItem } from './schema.ts';

const decibels = (value: number): string => String(value).replace('-', '\u2212');

/** What its user should know of a preset beside its purpose, a line each. */
export const presetWords = ({ listenFor, caution, usualBlendDb }: Preset): string[] => [
  `Listen for: ${listenFor}`,
  `Take care: ${caution}`,
  ...(usualBlendDb === null ? [] : [`Usual blend: ${usualBlendDb.map(decibels).join(' to ')} dB.`]),
];

/** Settings but those that are set by the sound when a preset is fitted to it: levels and make-up. */
const keptSettings = ({ processor, settings }: ProcessorItem): [string, Setting][] => {
  const { parameters } = processorOf(processor);
  const isSet = (id: string): boolean => {
    const parameter = parameters[id];
    return id === 'makeUp' || (parameter?.kind === 'number' && parameter.followsLevel === true);
  };
  return Object.entries(settings).filter(([id]) => !isSet(id));
};

const isGain = (item: ChainItem): boolean => !isSplit(item) && item.processor === 'gain';

/** What a chain does, whatever its items are called and at whatever levels it was fitted: gains stand for levels alone. */
const substance = (chain: ChainItems): string => {
  const parts = chain
    .filter((item) => !isGain(item))
    .map((item) => [
      item.on,
      mixText(item),
      isSplit(item) ? substance(item.split) : [item.processor, item.sound ?? null, keptSettings(item).sort()],
    ]);
  return JSON.stringify(parts);
};

/** A chain but for the names of its items. */
const nameless = (chain: ChainItems): string =>
  JSON.stringify(chain, (key, value: unknown) => (key === 'id' ? undefined : value));

/** True where a chain is what a preset's file holds, and a fit would set levels in it. */
export const isAsWritten = ({ chain: written, level, fit }: Preset, chain: ChainItems): boolean =>
  (fit !== undefined || level.kind !== 'as it comes') && nameless(chain) === nameless(written);

/** The preset that was loaded on a path, fitted or as written; undefined: there is none, or it was changed since. */
export const presetOnChain = (presets: readonly Preset[], chain: ChainItems): Preset | undefined => {
  const found = substance(chain);
  return presets.find((preset) => substance(preset.chain) === found);
};
