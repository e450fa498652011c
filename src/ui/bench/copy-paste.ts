import { itemOf } from '../../session/chain/chain-items.ts';
import { itemLabel } from '../../session/chain/chain-words.ts';
import { pasteItems } from '../../session/chain/paste-edits.ts';
import type { Bench } from './bench.svelte.ts';
import type { Copied } from './clipboard.svelte.ts';
import { placeInFocus } from './focus-places.ts';
import { pathRow } from './paths.ts';

/** The processor that has the focus or is open, else the chain of the path; where it was; null: nothing is selected. */
export const copyProcessors = (bench: Bench): { readonly path: string; readonly item: string | null } | null => {
  const at = placeInFocus() ?? bench.selection;
  const { path } = at;
  if (path === null || !bench.session) {
    bench.tell('Select a processor or a path first: Ctrl C copies it.', 'edits');
    return null;
  }
  const row = pathRow(bench.session, path);
  const item = at.item === null ? undefined : itemOf(row.chain, at.item);
  const items = item ? [item] : row.chain;
  if (items.length === 0) {
    bench.tell(`${row.name} has no processors to copy.`, 'edits');
    return null;
  }
  const name = item ? itemLabel(item) : `chain of ${row.name}`;
  bench.clipboard.copied = { items, name };
  bench.tell(`Copied: ${name}. Ctrl V puts it on the path that is selected.`, 'edits');
  return { path, item: item?.id ?? null };
};

const put = (bench: Bench, { items, name }: Copied, path: string, after: string | null): void => {
  const label = `paste ${name} on ${pathRow(bench.session!, path).name}`;
  let ids: readonly string[] = [];
  const went = bench.edit(label, (session) => {
    const pasted = pasteItems(session, path, items, after);
    ({ ids } = pasted);
    return pasted.session;
  });
  if (went) bench.selection.select(path, ids[0] ?? null);
};

/** Puts what was copied after the processor that has the focus or is open, else at the end of the chain of the path. */
export const pasteProcessors = (bench: Bench): void => {
  const { copied } = bench.clipboard;
  const { path, item } = placeInFocus() ?? bench.selection;
  if (!copied) bench.tell('Nothing was copied yet: Ctrl C copies a processor or a chain.', 'edits');
  else if (path === null || !bench.session)
    bench.tell('Select a path first: Ctrl V puts what was copied on it.', 'edits');
  else put(bench, copied, path, item);
};
