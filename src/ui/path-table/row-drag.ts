import type { Attachment } from 'svelte/attachments';
import { movePath } from '../../session/edits/order-edits.ts';
import type { Session } from '../../session/schema.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import type { DropSide } from '../bench/drop-mark.svelte.ts';
import { pathRow, type PathRow } from '../bench/paths.ts';
import { feedersAmong, sendTogether } from '../bench/together.ts';
import { namesOf, placeUnder, pointerDrag } from '../shared/pointer-drag.ts';

/** This part of a row, at either edge, is for putting before or after it; the rest for sending to it. */
const EDGE = 0.3;

interface Target {
  readonly row: PathRow;
  readonly side: DropSide;
}

const listOf = (session: Session, { kind }: PathRow): readonly { readonly id: string }[] =>
  kind === 'group' ? session.groups : kind === 'bus' ? session.buses : [];

/** Moves a group or a bus among its like, undone under its name. */
export const moveRow = (bench: Bench, row: PathRow, to: number): void => {
  bench.edit(`move ${row.name}`, (session) => movePath(session, row.id, to));
};

/** One place up or down among its like. */
export const stepRow = (bench: Bench, row: PathRow, step: 1 | -1): void => {
  const list = listOf(bench.session!, row);
  const to = list.findIndex(({ id }) => id === row.id) + step;
  if (list[to]) moveRow(bench, row, to);
};

/** What letting go there would do to a row that is dragged; null: nothing. */
const targetUnder = (bench: Bench, dragged: PathRow, event: PointerEvent): Target | null => {
  const place = placeUnder(event, 'row');
  const [id] = place ? namesOf(place) : [];
  if (!place || id === undefined || id === dragged.id) return null;
  const row = pathRow(bench.session!, id);
  const { top, height } = place.getBoundingClientRect();
  const part = (event.clientY - top) / height;
  const isAlike = row.kind === dragged.kind;
  if (isAlike && (part < EDGE || part > 1 - EDGE)) return { row, side: part < EDGE ? 'before' : 'behind' };
  const feeds = row.kind === 'bus' && feedersAmong(bench, dragged.id, id).length > 0;
  if (feeds) return { row, side: 'on' };
  return isAlike ? { row, side: part < 0.5 ? 'before' : 'behind' } : null;
};

const WORDS: Readonly<Record<DropSide, string>> = { on: 'Send to', before: 'Put before', behind: 'Put after' };

/** Drags a row by its name: onto a bus it sends to it, between its like it goes there. */
export const dragsRow = (bench: Bench, row: PathRow): Attachment<HTMLElement> =>
  pointerDrag({
    moves: (event) => {
      const target = targetUnder(bench, row, event);
      bench.drops.mark = target && {
        path: target.row.id,
        side: target.side,
        at: [event.clientX, event.clientY],
        words: `${WORDS[target.side]} ${target.row.name}`,
      };
    },
    drops: (event) => {
      const target = targetUnder(bench, row, event);
      if (!target) return;
      if (target.side === 'on') sendTogether(bench, row.id, target.row.id);
      else {
        const ids = listOf(bench.session!, row)
          .map(({ id }) => id)
          .filter((id) => id !== row.id);
        moveRow(bench, row, ids.indexOf(target.row.id) + (target.side === 'behind' ? 1 : 0));
      }
    },
    ends: () => (bench.drops.mark = null),
  });
