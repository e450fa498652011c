import type { Command } from 'commander';
import { GUARD_DEFINITIONS } from '../../blend/guards/guards.ts';
import { isSplit, processorItems } from '../../session/chain/chain-items.ts';
import type { BusSet, SetBus } from '../../session/bus-sets/bus-set.ts';
import { busSets } from '../../session/bus-sets/bus-sets.ts';
import type { Preset } from '../../session/presets/preset.ts';
import { guardSets, type GuardSet } from '../../session/guard-set.ts';
import { levelWords, reductionWords } from '../../session/presets/preset-words.ts';
import { presets } from '../../session/presets/presets.ts';
import type { ChainItem } from '../../session/schema.ts';
import { aligned } from '../tables.ts';
import type { Console } from '../console.ts';

const blendText = ({ usualBlendDb }: Preset): string =>
  usualBlendDb ? `in parallel at ${usualBlendDb[0]} to ${usualBlendDb[1]} dB` : 'in series';

/** One item of a chain in a line: a processor, or a split with its items. */
const chainWord = (item: ChainItem): string =>
  isSplit(item) ? `(${item.split.map(chainWord).join(' > ')}, mix ${item.mix} %)` : item.processor;

/** Limits of the change that it may make to its input, see `limitsSchema`. */
const limitsText = ({ limits, level }: Preset): string => {
  const { boostDb, changeDb } = limits;
  const taken = reductionWords({ limits });
  return [
    `raises no third octave that carries sound by more than ${boostDb} dB`,
    ...(changeDb === undefined ? [] : [`changes none outside its purpose by more than ${changeDb} dB`]),
    level.kind === 'additive'
      ? 'in parallel to the dry sound at its loudest usual blend, at equal loudness'
      : 'at equal loudness',
    ...(taken === null ? [] : [`gain reduction ${taken}`]),
  ].join(', ');
};

const details = (preset: Preset): string =>
  [
    `${preset.name}: ${preset.purpose}`,
    `  Listen for  ${preset.listenFor}`,
    `  Take care   ${preset.caution}`,
    `  Used        ${blendText(preset)}`,
    `  Suits       ${preset.suits.join(', ')}`,
    `  Level       ${levelWords(preset)}`,
    `  Limits      ${limitsText(preset)}`,
    `  Chain       ${preset.chain.map(chainWord).join(' > ')}`,
    '',
  ].join('\n');

const setBusWord = ({ name, blendDb, feeds }: SetBus): string => {
  const roles = feeds.map(({ role }) => role).join(' + ');
  return `${name} at ${blendDb} dB${roles === '' ? '' : ` from ${roles}`}`;
};

const setDetails = (set: BusSet): string =>
  [
    `${set.name}: ${set.purpose}`,
    `  Listen for  ${set.listenFor}`,
    `  Take care   ${set.caution}`,
    `  Buses       ${set.buses.map(setBusWord).join(', ')}`,
    '',
  ].join('\n');

const limitLine = ({ guard, limit, on, source }: GuardSet['guards'][number]): string => {
  const { bound, unit } = GUARD_DEFINITIONS[guard];
  const text = `${bound} ${limit} ${unit}`.trim();
  return `  ${guard}: ${on ? text : `off (${text})`}; ${source}`;
};

const guardDetails = ({ name, purpose, guards }: GuardSet): string =>
  [`${name}: ${purpose}`, ...guards.map(limitLine), ''].join('\n');

const listedGuards = ({ name, kind, purpose, guards }: GuardSet) => ({ name, kind, purpose, guards });

const listedSet = ({ name, kind, purpose, listenFor, caution, buses }: BusSet) => ({
  name,
  kind,
  purpose,
  listenFor,
  caution,
  buses: buses.map(({ name, chain, blendDb, feeds, sends, key }) => ({
    name,
    chain: typeof chain === 'string' ? chain : processorItems(chain).map(({ processor }) => processor),
    blendDb,
    feeds: feeds.map(({ role }) => role),
    sends: sends.map(({ to }) => to),
    key,
  })),
});

const listedPreset = ({ chain, version: _version, format: _format, ...preset }: Preset) => ({
  ...preset,
  processors: processorItems(chain).map(({ processor }) => processor),
});

export const addPresets = (program: Command, console: Console): void => {
  program
    .command('presets')
    .description('Lists presets by purpose: chains, sets of buses, and sets of guards.')
    .option(
      '--details',
      'also show what to listen for, what to take care of, the usual blend, and the limits of guards',
    )
    .option('--json', 'one JSON document: an array with an object for each preset')
    .action(({ json, details: full }: { json?: true; details?: true }) => {
      const listing = [...presets.map(listedPreset), ...busSets.map(listedSet), ...guardSets.map(listedGuards)];
      if (json) console.out(`${JSON.stringify(listing, null, 2)}\n`);
      else if (full)
        console.out([...presets.map(details), ...busSets.map(setDetails), ...guardSets.map(guardDetails)].join('\n'));
      else
        console.out(
          aligned(
            listing.map(({ name, kind, purpose }) => [name, kind, purpose]),
            [1, 2],
          ),
        );
    });
};
