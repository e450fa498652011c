import { removeProcessor } from '../../session/chain/chain-edits.ts';
import { itemLabel } from '../../session/chain/chain-words.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import type { PathRow } from '../bench/paths.ts';
import { chainRows, rowMoved, rowSpan } from './chain-rows.ts';

const STEPS: Readonly<Record<string, 1 | -1>> = { ArrowUp: -1, ArrowLeft: -1, ArrowDown: 1, ArrowRight: 1 };

/** Keys that work an item of a chain wherever it has the focus, for `aria-keyshortcuts`. */
export const CHAIN_KEYS = 'Alt+ArrowUp Alt+ArrowDown Delete';

export const removeItem = (bench: Bench, row: PathRow, id: string): void => {
  const { item } = chainRows(row.chain).find((line) => line.item.id === id)!;
  bench.edit(`remove ${itemLabel(item)} from ${row.name}`, (s) => removeProcessor(s, row.id, id));
};

/** Puts line `from` of the chain list where line `to` stands. */
export const moveLine = (bench: Bench, row: PathRow, from: number, to: number): void => {
  const { item } = chainRows(row.chain)[from]!;
  bench.edit(`move ${itemLabel(item)} in ${row.name}`, (s) => rowMoved(s, row.id, from, to));
};

/** Alt with an arrow key moves an item of a chain, Delete removes it; true when the key was one of these. */
export const takeChainKey = (bench: Bench, row: PathRow, id: string, { key, altKey }: KeyboardEvent): boolean => {
  const step = STEPS[key];
  if (key === 'Delete') removeItem(bench, row, id);
  else if (altKey && step !== undefined) {
    const lines = chainRows(row.chain);
    const from = lines.findIndex(({ item }) => item.id === id);
    // A split going down steps over all that stands in it.
    moveLine(bench, row, from, from + (step > 0 ? rowSpan(lines[from]!) : step));
  } else return false;
  return true;
};
