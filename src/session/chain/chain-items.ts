import type { ChainItem, ChainItems, ProcessorItem, SplitItem } from '../schema.ts';

/** True for a split: processors in a row with one dry share beside all of them. */
export const isSplit = (item: ChainItem): item is SplitItem => 'split' in item;

/** The processors of one item: itself, or all that stand in the split. */
export const processorsIn = (item: ChainItem): readonly ProcessorItem[] => (isSplit(item) ? item.split : [item]);

/** Every processor of a chain in the order in which the sound meets them, those in splits too. */
export const processorItems = (chain: ChainItems): ProcessorItem[] => chain.flatMap(processorsIn);

/** The processors that run, in order: those that are on, and stand in no split that is off. */
export const runningProcessors = (chain: ChainItems): ProcessorItem[] =>
  processorItems(chain.filter(({ on }) => on)).filter(({ on }) => on);

/** Every item of a chain, each split before what stands in it. */
export const allItems = (chain: ChainItems): ChainItem[] =>
  chain.flatMap((item) => (isSplit(item) ? [item, ...item.split] : [item]));

/** The processor or split with this id, wherever in the chain it stands. */
export const itemOf = (chain: ChainItems, id: string): ChainItem | undefined =>
  allItems(chain).find((item) => item.id === id);

/** The split in which a processor stands; undefined: it stands in the chain itself. */
export const splitAround = (chain: ChainItems, id: string): SplitItem | undefined =>
  chain.filter(isSplit).find(({ split }) => split.some((item) => item.id === id));
