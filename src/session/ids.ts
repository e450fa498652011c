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

/** Chain items with the missing ids filled in from the processors' names: eq, eq-2. */
export const withItemIds = <T extends { readonly id?: string | undefined; readonly processor: string }>(
  items: readonly T[],
): (T & { id: string })[] => {
  const taken = new Set(items.flatMap(({ id }) => id ?? []));
  return items.map((item) => {
    const id = item.id ?? freeId(idFrom(item.processor), taken);
    taken.add(id);
    return { ...item, id };
  });
};
