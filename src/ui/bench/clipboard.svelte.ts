import { chainOf } from '../../session/chain-edits.ts';
import { itemOf } from '../../session/chain-items.ts';
import { itemLabel } from '../../session/chain-words.ts';
import { pasteItems } from '../../session/paste-edits.ts';
import type { ChainItems } from '../../session/schema.ts';
import type { Bench } from './bench.svelte.ts';
import { placeInFocus } from './focus-places.ts';
import { pathRow } from './paths.ts';

/** Processors that were copied, as they were then. They stay when another session is opened. */
interface Copied {
  readonly items: ChainItems;
  /** "Compressor", or "chain of Drum squeeze". */
  readonly name: string;
}

export class Clipboard {
  #copied = $state.raw<Copied | null>(null);

  constructor(private readonly bench: Bench) {}

  get copied(): Copied | null {
    return this.#copied;
  }

  /** The processor that has the focus or is open, else the chain of the path; where it was; null: nothing is selected. */
  copy(): { readonly path: string; readonly item: string | null } | null {
    const { bench } = this;
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
    this.#copied = { items, name };
    bench.tell(`Copied: ${name}. Ctrl V puts it on the path that is selected.`, 'edits');
    return { path, item: item?.id ?? null };
  }

  /** Puts what was copied behind the processor that has the focus or is open, else at the end of the chain of the path. */
  paste(): void {
    const { bench } = this;
    const copied = this.#copied;
    const { path, item } = placeInFocus() ?? bench.selection;
    if (!copied) bench.tell('Nothing was copied yet: Ctrl C copies a processor or a chain.', 'edits');
    else if (path === null || !bench.session)
      bench.tell('Select a path first: Ctrl V puts what was copied on it.', 'edits');
    else this.#put(copied, path, item);
  }

  #put({ items, name }: Copied, path: string, after: string | null): void {
    const { bench } = this;
    const before = chainOf(bench.session!, path).length;
    const label = `paste ${name} on ${pathRow(bench.session!, path).name}`;
    let ids: readonly string[] = [];
    const went = bench.edit(label, (session) => {
      const pasted = pasteItems(session, path, items, after);
      ({ ids } = pasted);
      return pasted.session;
    });
    if (went && chainOf(bench.session!, path).length > before) bench.selection.select(path, ids[0] ?? null);
  }
}
