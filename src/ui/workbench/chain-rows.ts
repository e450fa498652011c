import { chainOf, moveIntoSplit, moveProcessor, takeOutOfSplit } from '../../session/chain/chain-edits.ts';
import { isSplit } from '../../session/chain/chain-items.ts';
import type { ChainItem, ChainItems, Session } from '../../session/schema.ts';

/** One line of the chain list: an item of the chain, or one that stands in a split. */
export interface ChainRow {
  readonly item: ChainItem;
  /** The split that it stands in; null: the chain itself. */
  readonly split: string | null;
  /** Its place in the chain or the split, 0 first. */
  readonly place: number;
  /** Its place as it is read: "2", or "2.1" for the first in the second. */
  readonly number: string;
}

/** A chain line by line, each split before what stands in it. */
export const chainRows = (chain: ChainItems): ChainRow[] =>
  chain.flatMap((item, place): ChainRow[] => {
    const row = { item, split: null, place, number: `${place + 1}` };
    if (!isSplit(item)) return [row];
    const inside = item.split.map((inner, n) => ({
      item: inner,
      split: item.id,
      place: n,
      number: `${place + 1}.${n + 1}`,
    }));
    return [row, ...inside];
  });

/** How many lines an item takes: a split moves with all that stands in it. */
export const rowSpan = ({ item }: ChainRow): number => (isSplit(item) ? 1 + item.split.length : 1);

/** Moves what stands in the chain itself right before, or after, another item of it. */
const beside = (session: Session, owner: string, id: string, target: string, behind: boolean): Session => {
  const others = chainOf(session, owner).filter((item) => item.id !== id);
  const at = others.findIndex((item) => item.id === target);
  return moveProcessor(session, owner, id, behind ? at + 1 : at);
};

/**
 * The session after line `from` was put where line `to` stands: into a split when that stands in one, or when a processor
 * comes from above onto the split itself; out of one when it stands in the chain. Splits stay in the chain.
 */
export const rowMoved = (session: Session, owner: string, from: number, to: number): Session => {
  const rows = chainRows(chainOf(session, owner));
  const [row, target] = [rows[from], rows[to]];
  if (!row || !target || row === target) return session;
  const { id } = row.item;
  const down = to > from;
  if (isSplit(row.item)) {
    const around = target.split ?? target.item.id;
    return around === id ? session : beside(session, owner, id, around, down);
  }
  if (target.split !== null) {
    const at = target.split !== row.split && down ? target.place + 1 : target.place;
    return moveIntoSplit(session, owner, id, target.split, at);
  }
  if (isSplit(target.item) && down) return moveIntoSplit(session, owner, id, target.item.id, 0);
  const out = row.split === null ? session : takeOutOfSplit(session, owner, id);
  const isThere = chainOf(out, owner).some((item) => item.id === target.item.id);
  return isThere ? beside(out, owner, id, target.item.id, down) : out;
};
