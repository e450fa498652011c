import { itemLabel } from '../../session/chain/chain-words.ts';
import { replaceSettings } from '../../session/chain/chain-edits.ts';
import type { ProcessorItem } from '../../session/schema.ts';
import type { Bench } from './bench.svelte.ts';
import type { PathRow } from './paths.ts';
import { otherOf } from './two-settings.svelte.ts';

/**
 * Begins a second setting of a processor as the same as its first; from then on goes to the other one, as a step of undo. Matched
 * listening holds what is heard at one loudness, as soon as it is measured.
 */
export const flipSettings = (bench: Bench, row: PathRow, item: ProcessorItem): void => {
  const { twoSettings } = bench;
  const other = twoSettings.otherOf(row.id, item);
  if (!other) {
    twoSettings.begin(row.id, item);
    bench.tell(`B of ${itemLabel(item)} begins as A: change it, then X goes between the two.`, 'edits');
    return;
  }
  const to = otherOf(twoSettings.letterOf(row.id, item)!);
  const label = `setting ${to} of ${itemLabel(item)} in ${row.name}`;
  if (bench.edit(label, (session) => replaceSettings(session, row.id, item.id, other)))
    twoSettings.went(row.id, item, to);
};
