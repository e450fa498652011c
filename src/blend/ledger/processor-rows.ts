import type { FigureChange } from '../../measure/change.ts';
import { chainOf, setProcessorOn } from '../../session/chain/chain-edits.ts';
import { allItems, isSplit } from '../../session/chain/chain-items.ts';
import type { ChainItem, Session } from '../../session/schema.ts';

/** The change that one processor of a chain makes to the mix before the mix bus. */
export interface ProcessorRow {
  /** Id of the item in the chain, and what it is; "split" for a split as a whole. */
  readonly item: string;
  readonly processor: string;
  /** The mix with it less the mix without it, all else as it stands. */
  readonly change: FigureChange;
}

/** Items of a path's chain that are not bypassed, each split before the items in it. */
export const heardItems = (session: Session, path: string): ChainItem[] =>
  allItems(chainOf(session, path).filter(({ on }) => on)).filter(({ on }) => on);

/** The session without each processor of a path that is heard, in order. */
export const withoutEach = (
  session: Session,
  path: string,
): (Pick<ProcessorRow, 'item' | 'processor'> & { readonly without: Session })[] =>
  heardItems(session, path).map((item) => ({
    item: item.id,
    processor: isSplit(item) ? 'split' : item.processor,
    without: setProcessorOn(session, path, item.id, false),
  }));
