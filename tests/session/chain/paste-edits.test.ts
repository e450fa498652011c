import { expect, test } from 'vitest';
import { addProcessor, chainOf } from '../../../src/session/chain/chain-edits.ts';
import { allItems } from '../../../src/session/chain/chain-items.ts';
import { moveToPath, pasteItems } from '../../../src/session/chain/paste-edits.ts';
import { problemsOf } from '../../../src/session/read/parse.ts';
import { smallSession } from '../../helpers/session-file.ts';

const [first, second] = ['drums', 'echo'] as const;
const session = ['eq', 'compressor', 'gain'].reduce((now, id) => addProcessor(now, first, id), smallSession());
const idsIn = (now: typeof session, path: string): string[] => allItems(chainOf(now, path)).map(({ id }) => id);

test('what is pasted into its own chain gets ids of its own, behind the item that was named', () => {
  const chain = chainOf(session, first);
  const pasted = pasteItems(session, first, chain, chain[0]!.id);
  const ids = idsIn(pasted.session, first);
  expect(new Set(ids).size).toBe(2 * idsIn(session, first).length);
  expect(ids.slice(1, 1 + pasted.ids.length)).toEqual(pasted.ids);
  expect(problemsOf(pasted.session)).toEqual([]);
});

test('an item that is moved keeps its settings and leaves its chain', () => {
  const item = chainOf(session, first)[0]!;
  const { session: now, ids } = moveToPath(session, first, item.id, second);
  expect(chainOf(now, first)).toEqual(chainOf(session, first).slice(1));
  expect(chainOf(now, second).at(-1)).toEqual({ ...item, id: ids[0] });
});
