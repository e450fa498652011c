import { expect, test } from 'vitest';
import { addGroup, addTrack } from '../../../src/session/edits/edits.ts';
import { movePath, orderTrack } from '../../../src/session/edits/order-edits.ts';
import { problemsOf } from '../../../src/session/read/parse.ts';
import { smallSession } from '../../helpers/session-file.ts';

const session = addGroup(addGroup(smallSession(), 'Keys'), 'Voice');
const groups = session.groups.map(({ id }) => id);

test('a group goes to a place among the groups, and past the end to the last', () => {
  const [first, ...others] = groups;
  expect(movePath(session, first!, 99).groups.map(({ id }) => id)).toEqual([...others, first]);
  expect(movePath(session, first!, 0)).toBe(session);
  expect(problemsOf(movePath(session, first!, 1))).toEqual([]);
});

test('a track goes to a place among those of its group; those of others stay where they are', () => {
  const { group, file } = smallSession().tracks[0]!;
  const session = ['Two', 'Three'].reduce((now, name) => addTrack(now, { name, file, group }), smallSession());
  const inGroup = (now: typeof session) => now.tracks.filter((track) => track.group === group).map(({ id }) => id);
  const ids = inGroup(session);
  expect(ids).toHaveLength(3);
  const ordered = orderTrack(session, ids[0]!, 1);
  expect(inGroup(ordered)).toEqual([ids[1], ids[0], ...ids.slice(2)]);
  expect(ordered.tracks.map((track) => track.group)).toEqual(session.tracks.map((track) => track.group));
});
