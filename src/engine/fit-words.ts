import { processorOf } from '../dsp/core/registry.ts';
import { changeText } from '../measure/definitions/figure-text.ts';
import type { FittedChain } from '../render/fit/fit-chain.ts';
import type { FittedItem } from '../render/fit/fit-item.ts';

/** "Compressor: threshold -36.2 dB, make-up 11.49 dB" */
const itemWords = ({ item, settings, gainDb, taken }: FittedItem): string => {
  const { label, parameters } = processorOf(item.processor);
  const set = Object.entries(settings).map(([id, value]) => {
    const { label: name, group } = parameters[id]!;
    return `${group?.startsWith('Band') ? `${group} ` : ''}${name.toLowerCase()} ${value} dB`;
  });
  const brought = gainDb === 0 ? [] : [`${changeText(gainDb, 1)} dB before it, reversed after it`];
  const takes = taken && [
    `gain reduction ${taken.meanDb.toFixed(1)} dB on average, ${taken.peakDb.toFixed(1)} dB at most`,
  ];
  return `${label}: ${[...(set.length + brought.length === 0 ? ['as written'] : [...set, ...brought]), ...(takes ?? [])].join(', ')}`;
};

const SOFTER = {
  peaks: 'quieter than the preset states, so that peaks do not rise',
  bands: 'quieter than the preset states, so that no band rises too far',
  'little to add': 'quieter than the preset states, as the input has little of what it adds',
} as const;

/** The changes made by fitting a preset to a sound, a line each. */
export const fitWords = ({ items, gainDb, levelLu, softerFor }: FittedChain): string[] => {
  if (levelLu === null) return ['No sound reaches it: settings stay as written.'];
  const level = gainDb === null ? [] : [`Gain of ${changeText(gainDb, 2)} dB`];
  const reason = softerFor === null ? '' : ` (${SOFTER[softerFor]})`;
  return [
    ...items.map(itemWords),
    [...level, `${changeText(levelLu, 1)} LU relative to the input${reason}`].join(': '),
  ];
};
