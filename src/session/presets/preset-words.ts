import type { Setting } from '../../dsp/core/parameter.ts';
import { processorOf } from '../../dsp/core/registry.ts';
import { isSplit } from '../chain/chain-items.ts';
import { mixText } from '../chain/chain-words.ts';
import { SENDS_WITHIN_LU, type Preset } from './preset.ts';
import type { ChainItem, ChainItems, ProcessorItem } from '../schema.ts';

const decibels = (value: number): string => String(value).replace('-', '\u2212');

/** How loud a preset is against what feeds it. */
export const levelWords = ({ level }: Pick<Preset, 'level'>): string => {
  if (level.kind === 'levelled') return 'as loud as its input';
  if (level.kind === 'as it comes') return 'as its processors make it';
  const { levelLu, softestLu } = level;
  return softestLu === undefined
    ? `only what is added, ${decibels(levelLu)} LU relative to its input, at most ${SENDS_WITHIN_LU} LU less where peaks or bands would rise too far`
    : `only what is added, from ${decibels(levelLu)} LU relative to its input to ${decibels(softestLu)} LU where the input holds little of it`;
};

/** How far its compressors turn down, once it is fitted; null: it says nothing of that. */
export const reductionWords = ({ limits: { reductionDb } }: Pick<Preset, 'limits'>): string | null =>
  reductionDb === undefined
    ? null
    : `fitted to the sound, at most ${reductionDb.mean} dB on average while it turns down, ${reductionDb.peak} dB at peaks`;

const line = (label: string, words: string | null): string[] => (words === null ? [] : [`${label}: ${words}.`]);

/** Lines on a preset besides its purpose: what to listen for, what to take care of, how much it takes, its level, the usual blend. */
export const presetWords = ({ listenFor, caution, level, limits, usualBlendDb }: Preset): string[] => [
  ...line('Gain reduction', reductionWords({ limits })),
  ...(level.kind === 'additive' ? line('Level', levelWords({ level })) : []),
  `Listen for: ${listenFor}`,
  `Take care: ${caution}`,
  ...(usualBlendDb === null ? [] : [`Usual blend: ${usualBlendDb.map(decibels).join(' to ')} dB.`]),
];

/** Settings of a processor without those that fitting changes: levels and make-up. */
const keptSettings = ({ processor, settings }: ProcessorItem): [string, Setting][] => {
  const { parameters } = processorOf(processor);
  const isSet = (id: string): boolean => {
    const parameter = parameters[id];
    return id === 'makeUp' || (parameter?.kind === 'number' && parameter.followsLevel === true);
  };
  return Object.entries(settings).filter(([id]) => !isSet(id));
};

const isGain = (item: ChainItem): boolean => !isSplit(item) && item.processor === 'gain';

/** Text of a chain without ids and fitted levels (gains left out): equal for a preset and its fitted chain. */
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

/** Text of a chain without the ids of its items. */
const nameless = (chain: ChainItems): string =>
  JSON.stringify(chain, (key, value: unknown) => (key === 'id' ? undefined : value));

/** True if a chain equals the preset as written, and fitting would set levels in it. */
export const isAsWritten = ({ chain: written, level, fit }: Preset, chain: ChainItems): boolean =>
  (fit !== undefined || level.kind !== 'as it comes') && nameless(chain) === nameless(written);

/** The preset that was loaded on a path, fitted or as written; undefined: there is none, or it was changed since. */
export const presetOnChain = (presets: readonly Preset[], chain: ChainItems): Preset | undefined => {
  const found = substance(chain);
  return presets.find((preset) => substance(preset.chain) === found);
};
