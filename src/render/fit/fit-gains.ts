import { processorOf } from '../../dsp/core/registry.ts';
import { isSplit } from '../../session/chain/chain-items.ts';
import { freeId } from '../../session/ids.ts';
import type { ChainItem, ProcessorItem } from '../../session/schema.ts';

/** A part of a chain while it is fitted: an item, or a gain that is set beside the items, dB. */
export type Part<T extends ChainItem = ChainItem> = T | number;

/** A gain below this, dB, is none. */
const LEAST_DB = 0.005;

const hundredth = (db: number): number => Math.round(db * 100) / 100;

/** Limited to the range of the gain processor, dB. */
const reachable = (db: number): number => {
  const { gain } = processorOf('gain').parameters;
  return gain?.kind === 'number' ? Math.min(gain.max, Math.max(gain.min, db)) : 0;
};

const isOwnGain = (item: ChainItem): item is ProcessorItem =>
  !isSplit(item) && item.processor === 'gain' && item.on && item.mix === 100;

const ownGain = ({ settings }: ProcessorItem): number => (typeof settings.gain === 'number' ? settings.gain : 0);

/** Gain items of so many dB together; none for 0. */
const gainItems = (db: number, taken: Set<string>): ProcessorItem[] => {
  const items: ProcessorItem[] = [];
  for (let left = hundredth(db); Math.abs(left) > LEAST_DB; left = hundredth(left - reachable(left))) {
    const id = freeId('level', taken);
    taken.add(id);
    items.push({ id, processor: 'gain', on: true, mix: 100, law: 'linear', settings: { gain: reachable(left) } });
  }
  return items;
};

/** The items with adjacent gains merged into one; `taken` are the ids in use in the whole chain. */
export const assembled = <T extends ChainItem>(
  parts: readonly Part<T>[],
  taken: Set<string>,
): (T | ProcessorItem)[] => {
  const items: (T | ProcessorItem)[] = [];
  let gain = 0;
  const flush = (): void => {
    items.push(...gainItems(gain, taken));
    gain = 0;
  };
  for (const part of parts) {
    if (typeof part === 'number') gain += part;
    else {
      flush();
      items.push(part);
    }
  }
  flush();
  return items;
};

/** The parts, louder by `db` at the end: by the preset's own last gain where it ends with one, as far as that reaches. */
export const raisedAtEnd = (parts: readonly Part[], db: number): Part[] => {
  const last = parts.at(-1);
  if (last === undefined || typeof last === 'number' || !isOwnGain(last)) return [...parts, db];
  const wanted = hundredth(ownGain(last) + db);
  const gain = reachable(wanted);
  return [...parts.slice(0, -1), { ...last, settings: { ...last.settings, gain } }, hundredth(wanted - gain)];
};
