import { chainOf, removeProcessor, setChain } from './chain-edits.ts';
import { allItems, isSplit, itemOf, splitAround } from './chain-items.ts';
import { freeId } from '../ids.ts';
import type { ChainItem, ChainItems, ProcessorItem, Session } from '../schema.ts';

/** Copies of items with ids that their new chain does not have yet. */
const withFreeIds = (chain: ChainItems, items: ChainItems): ChainItem[] => {
  const taken = new Set(allItems(chain).map(({ id }) => id));
  const fresh = <T extends ChainItem>(item: T): T => {
    const id = freeId(isSplit(item) ? 'split' : item.processor, taken);
    taken.add(id);
    return { ...item, id };
  };
  return items.map((item) =>
    isSplit(item) ? { ...fresh(item), split: item.split.map((inner): ProcessorItem => fresh(inner)) } : fresh(item),
  );
};

/** What was put into a chain, and the session with it. */
export interface Pasted {
  readonly session: Session;
  readonly ids: readonly string[];
}

/** Puts copies of items after the item `after` of a chain (after its split, if it stands in one); null: at the end. */
export const pasteItems = (session: Session, owner: string, items: ChainItems, after: string | null = null): Pasted => {
  const chain = chainOf(session, owner);
  const top = after === null ? undefined : (splitAround(chain, after) ?? itemOf(chain, after));
  const at = top ? chain.indexOf(top) + 1 : chain.length;
  const added = withFreeIds(chain, items);
  return { session: setChain(session, owner, chain.toSpliced(at, 0, ...added)), ids: added.map(({ id }) => id) };
};

/** Takes an item out of one chain and puts it after the item `after` of another path's; null: at its end. */
export const moveToPath = (
  session: Session,
  from: string,
  id: string,
  to: string,
  after: string | null = null,
): Pasted => {
  const item = itemOf(chainOf(session, from), id);
  if (!item) throw new RangeError(`the chain of "${from}" has no item "${id}"`);
  return pasteItems(removeProcessor(session, from, id), to, [item], after);
};
