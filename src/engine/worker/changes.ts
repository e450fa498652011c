/**
 * The change of a document, to be sent to a worker: parts that are the same object in both are left out, so for a document that
 * edits never change in place only the edited parts are sent. Items of lists are identified by `id`.
 */
export type Change =
  | { readonly to: unknown }
  /** Fields of an object that changed, and fields that were removed. */
  | { readonly fields: Readonly<Record<string, Change>>; readonly gone?: readonly string[] }
  /** Items of a list that changed, by id; `order`: the new order of ids, where it changed. */
  | { readonly items: Readonly<Record<string, Change>>; readonly order?: readonly string[] };

type Fields = Readonly<Record<string, unknown>>;
type Item = Fields & { readonly id: string };

const isFields = (value: unknown): value is Fields =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

const isItem = (value: unknown): value is Item => isFields(value) && typeof value['id'] === 'string';

/** Whether a value is a list of items with distinct ids. */
const isItems = (value: unknown): value is readonly Item[] =>
  Array.isArray(value) && value.every(isItem) && new Set(value.map(({ id }) => id)).size === value.length;

const fieldChange = (before: Fields, after: Fields): Change | null => {
  const fields: [string, Change][] = [];
  for (const [name, value] of Object.entries(after)) {
    const change = Object.hasOwn(before, name) ? changeOf(before[name], value) : { to: value };
    if (change) fields.push([name, change]);
  }
  const gone = Object.keys(before).filter((name) => !Object.hasOwn(after, name));
  if (fields.length === 0 && gone.length === 0) return null;
  return { fields: Object.fromEntries(fields), ...(gone.length > 0 ? { gone } : {}) };
};

const itemChange = (before: readonly Item[], after: readonly Item[]): Change | null => {
  const known = new Map(before.map((item) => [item.id, item]));
  const items: [string, Change][] = [];
  for (const item of after) {
    const old = known.get(item.id);
    const change = old ? changeOf(old, item) : { to: item };
    if (change) items.push([item.id, change]);
  }
  const isInOrder = after.length === before.length && after.every(({ id }, n) => id === before[n]!.id);
  if (items.length === 0 && isInOrder) return null;
  return { items: Object.fromEntries(items), ...(isInOrder ? {} : { order: after.map(({ id }) => id) }) };
};

/** The change from `before` to `after`, both JSON data; null: nothing changed. */
export const changeOf = (before: unknown, after: unknown): Change | null => {
  if (Object.is(before, after)) return null;
  if (isItems(before) && isItems(after) && before.length > 0) return itemChange(before, after);
  if (isFields(before) && isFields(after)) return fieldChange(before, after);
  return { to: after };
};

/** The document after the change; unchanged parts are the same objects as before. */
export const changed = (before: unknown, change: Change): unknown => {
  if ('to' in change) return change.to;
  if ('fields' in change) {
    const fields = new Map(Object.entries(before as Fields));
    for (const name of change.gone ?? []) fields.delete(name);
    for (const [name, inner] of Object.entries(change.fields)) fields.set(name, changed(fields.get(name), inner));
    return Object.fromEntries(fields);
  }
  const known = new Map((before as readonly Item[]).map((item) => [item.id, item]));
  for (const [id, inner] of Object.entries(change.items)) known.set(id, changed(known.get(id), inner) as Item);
  return (change.order ?? (before as readonly Item[]).map(({ id }) => id)).map((id) => known.get(id)!);
};
