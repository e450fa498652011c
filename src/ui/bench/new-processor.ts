import { processorOf } from '../../dsp/core/registry.ts';
import { addProcessor, chainOf } from '../../session/chain/chain-edits.ts';
import { isSplit } from '../../session/chain/chain-items.ts';
import type { Bench } from './bench.svelte.ts';
import type { PathRow } from './paths.ts';

/** Adds a processor at the end of a chain, or of one of its splits, and opens it. */
export const newProcessor = (bench: Bench, row: PathRow, processor: string, split: string | null = null): void => {
  const { label } = processorOf(processor);
  if (!bench.edit(`add ${label} to ${row.name}`, (s) => addProcessor(s, row.id, processor, Infinity, split))) return;
  const chain = chainOf(bench.session!, row.id);
  const held = chain.filter(isSplit).find(({ id }) => id === split)?.split ?? chain;
  bench.selection.select(row.id, held.at(-1)?.id);
};
