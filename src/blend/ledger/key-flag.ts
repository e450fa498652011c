import { processorOf } from '../../dsp/core/registry.ts';
import { processorItems } from '../../session/chain/chain-items.ts';
import type { ChainItems, Session } from '../../session/schema.ts';
import { valuesOf } from '../../session/values.ts';
import type { Flag } from './flags.ts';

type Song = Pick<Session, 'tempo' | 'meter'>;

/** Flags of a chain without a key input: one if a processor that is on uses the key, else none. */
export const silentKeyFlags = (chain: ChainItems, { tempo, meter }: Song): Flag[] => {
  const listening = processorItems(chain)
    .filter(({ on }) => on)
    .map((item) => ({ processor: processorOf(item.processor), values: valuesOf(item, tempo, meter) }))
    .filter(({ processor, values }) => processor.listensToKey?.(values));
  if (listening.length === 0) return [];
  const names = [...new Set(listening.map(({ processor }) => processor.label))];
  const labels = names.join(', ');
  const count = names.length;
  return [
    {
      code: 'no key',
      reason: `No key input is connected: ${labels} ${count === 1 ? 'is' : 'are'} set to an external side-chain, which is silent.`,
      wayOut: 'Choose a source for its key input.',
    },
  ];
};

/** The same of a track, group or bus of a session. */
export const keyFlagsOf = (session: Session, path: string): Flag[] => {
  const found = [...session.tracks, ...session.groups, ...session.buses].find(({ id }) => id === path);
  return found && found.key === null ? silentKeyFlags(found.chain, session) : [];
};
