import type { Command } from 'commander';
import { isSplit, processorItems } from '../../session/chain-items.ts';
import type { Preset } from '../../session/preset.ts';
import { presets } from '../../session/presets.ts';
import type { ChainItem } from '../../session/schema.ts';
import { aligned } from '../tables.ts';
import type { Console } from '../console.ts';

const blendText = ({ usualBlendDb }: Preset): string =>
  usualBlendDb ? `beside the dry at ${usualBlendDb[0]} to ${usualBlendDb[1]} dB` : 'in series';

/** One item of a chain in a line: a processor, or a split with what stands in it. */
const chainWord = (item: ChainItem): string =>
  isSplit(item) ? `(${item.split.map(chainWord).join(' > ')}, ${item.wet} % wet)` : item.processor;

const details = (preset: Preset): string =>
  [
    `${preset.name}: ${preset.purpose}`,
    `  Listen for  ${preset.listenFor}`,
    `  Take care   ${preset.caution}`,
    `  Used        ${blendText(preset)}`,
    `  Chain       ${preset.chain.map(chainWord).join(' > ')}`,
    '',
  ].join('\n');

export const addPresets = (program: Command, console: Console): void => {
  program
    .command('presets')
    .description('List of presets, by what they do.')
    .option('--details', 'what to listen for, what to take care of, and the usual blend')
    .option('--json', 'one JSON document: an array with an object for each preset')
    .action(({ json, details: full }: { json?: true; details?: true }) => {
      const listing = presets.map(({ name, kind, purpose, listenFor, caution, usualBlendDb, chain }) => {
        const processors = processorItems(chain).map(({ processor }) => processor);
        return { name, kind, purpose, listenFor, caution, usualBlendDb, processors };
      });
      if (json) console.out(`${JSON.stringify(listing, null, 2)}\n`);
      else if (full) console.out(presets.map(details).join('\n'));
      else
        console.out(
          aligned(
            presets.map(({ name, kind, purpose }) => [name, kind, purpose]),
            [1, 2],
          ),
        );
    });
};
