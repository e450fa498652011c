import type { ChainItem, ProcessorItem, SplitItem } from './chain/chain-item-schema.ts';

/** Ids that name something in every session, and so cannot be given: what can be listened to, and the mix bus. */
export const RESERVED_IDS: readonly string[] = ['rough', 'received', 'mix'];

/** An id from words: "Side spread" is side-spread. Nothing usable left: "path". */
export const idFrom = (words: string): string => {
  const plain = words
    .normalize('NFD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .slice(0, 58)
    .replace(/^-+|-+$/g, '');
  return plain === '' ? 'path' : plain;
};

/** `base`, or the first of base-2, base-3 ... that is not taken. */
export const freeId = (base: string, taken: ReadonlySet<string>): string => {
  for (let n = 1; ; n++) {
    const id = n === 1 ? base : `${base}-${n}`;
    if (!taken.has(id)) return id;
  }
};

type Unnamed<T extends { id: string }> = Omit<T, 'id'> & { readonly id?: string | undefined };
type UnnamedSplit = Omit<Unnamed<SplitItem>, 'split'> & { readonly split: readonly Unnamed<ProcessorItem>[] };

/** Chain items with the missing ids filled in from the processors' names: eq, eq-2; of splits: split, split-2. */
export const withItemIds = (items: readonly (Unnamed<ProcessorItem> | UnnamedSplit)[]): ChainItem[] => {
  const all = items.flatMap((item) => ('split' in item ? [item, ...item.split] : [item]));
  const taken = new Set(all.flatMap(({ id }) => id ?? []));
  const named = <T extends { readonly id?: string | undefined }>(item: T, base: string): T & { id: string } => {
    const id = item.id ?? freeId(base, taken);
    taken.add(id);
    return { ...item, id };
  };
  const processor = (item: Unnamed<ProcessorItem>): ProcessorItem => named(item, idFrom(item.processor));
  return items.map((item) =>
    'split' in item ? { ...named(item, 'split'), split: item.split.map(processor) } : processor(item),
  );
};
