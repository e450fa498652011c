import { isSplit } from './chain-items.ts';
import { wetText } from './chain-words.ts';
import type { Preset } from './preset.ts';
import type { ChainItems } from './schema.ts';

const decibels = (value: number): string => String(value).replace('-', '\u2212');

/** What its user should know of a preset beside its purpose, a line each. */
export const presetWords = ({ listenFor, caution, usualBlendDb }: Preset): string[] => [
  `Listen for: ${listenFor}`,
  `Take care: ${caution}`,
  ...(usualBlendDb === null ? [] : [`Usually lands at ${usualBlendDb.map(decibels).join(' to ')} dB.`]),
];

/** What a chain does, whatever its items are called. */
const substance = (chain: ChainItems): string => {
  const parts = chain.map((item) => [
    item.on,
    wetText(item),
    isSplit(item) ? substance(item.split) : [item.processor, item.sound ?? null, Object.entries(item.settings).sort()],
  ]);
  return JSON.stringify(parts);
};

/** The preset that lies on a path as it was laid; undefined: there is none, or it was changed since. */
export const presetOnChain = (presets: readonly Preset[], chain: ChainItems): Preset | undefined => {
  const found = substance(chain);
  return presets.find((preset) => substance(preset.chain) === found);
};
