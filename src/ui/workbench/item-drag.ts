import type { Attachment } from 'svelte/attachments';
import { itemOf } from '../../session/chain/chain-items.ts';
import { itemLabel } from '../../session/chain/chain-words.ts';
import { moveToPath, pasteItems } from '../../session/chain/paste-edits.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import { pathRow, type PathRow } from '../bench/paths.ts';
import { namesOf, placeUnder, pointerDrag } from '../shared/pointer-drag.ts';
import { moveLine } from './chain-keys.ts';
import { chainRows } from './chain-rows.ts';

interface Target {
  readonly path: string;
  /** The processor that it was dropped on; null: the row as a whole. */
  readonly item: string | null;
}

const targetUnder = (event: PointerEvent): Target | null => {
  const tile = placeUnder(event, 'tile');
  const [path, item = null] = tile
    ? namesOf(tile)
    : [placeUnder(event, 'row')].flatMap((row) => (row ? namesOf(row) : []));
  return path === undefined ? null : { path, item };
};

const lineOf = (row: PathRow, id: string): number => chainRows(row.chain).findIndex(({ item }) => item.id === id);

/** Puts an item of one chain onto another path, or a copy of it. */
const carry = (bench: Bench, row: PathRow, id: string, { path, item: after }: Target, copies: boolean): void => {
  const item = itemOf(row.chain, id)!;
  const label = `${copies ? 'copy' : 'move'} ${itemLabel(item)} of ${row.name} to ${pathRow(bench.session!, path).name}`;
  let ids: readonly string[] = [];
  const went = bench.edit(label, (session) => {
    const put = copies ? pasteItems(session, path, [item], after) : moveToPath(session, row.id, id, path, after);
    ({ ids } = put);
    return put.session;
  });
  if (went) bench.selection.select(path, ids[0] ?? null);
};

/** Within its own chain it goes where it is dropped; elsewhere it is moved, or with Ctrl or Alt copied. */
const drop = (bench: Bench, row: PathRow, id: string, target: Target, copies: boolean): void => {
  if (target.path !== row.id || copies) carry(bench, row, id, target, copies);
  else if (target.item !== null && target.item !== id) moveLine(bench, row, lineOf(row, id), lineOf(row, target.item));
};

const isCopy = ({ ctrlKey, altKey, metaKey }: PointerEvent): boolean => ctrlKey || altKey || metaKey;

/** Drags the picture of a processor in the table, within its chain or to another row. */
export const dragsItem = (bench: Bench, row: PathRow, id: string): Attachment<HTMLElement> =>
  pointerDrag({
    moves: (event) => {
      const target = targetUnder(event);
      const name = target && pathRow(bench.session!, target.path).name;
      bench.drops.mark =
        target && (target.path !== row.id || isCopy(event))
          ? {
              path: target.path,
              side: 'on',
              at: [event.clientX, event.clientY],
              words: `${isCopy(event) ? 'Copy' : 'Move'} to ${name}`,
            }
          : null;
    },
    drops: (event) => {
      const target = targetUnder(event);
      if (target) drop(bench, row, id, target, isCopy(event));
    },
    ends: () => (bench.drops.mark = null),
  });
