import { setChain } from '../../session/chain/chain-edits.ts';
import { withItemIds } from '../../session/ids.ts';
import type { Preset } from '../../session/presets/preset.ts';
import type { Bench } from './bench.svelte.ts';
import { fitPresets } from './fit-presets.ts';
import type { PathRow } from './paths.ts';

/** Replaces the chain of a path by a preset that is fitted to its input, as one step of undo. */
export const loadPreset = (bench: Bench, row: PathRow, preset: Preset): void => {
  const label = `load ${preset.name} on ${row.name}`;
  const gesture = `${label} (${row.id})`;
  if (!bench.edit(label, (s) => setChain(s, row.id, withItemIds(preset.chain)), gesture)) return;
  bench.selection.select(row.id);
  void fitPresets(bench, [row.id], label, gesture).then((words) => words && bench.tell(words, 'edits'));
};
