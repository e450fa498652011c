import { expect, test } from 'vitest';
import { addTrack, changeTrack, removeTrack, setOn } from '../../src/session/edits/edits.ts';
import { parseSession, problemsOf } from '../../src/session/read/parse.ts';
import { deletePass, restorePass, savePass } from '../../src/session/passes/passes.ts';
import { isAtReceived, receivedPlace, setReceived, takeAsReceived } from '../../src/session/received-balance.ts';
import { CLOSED_DB } from '../../src/session/schema.ts';
import { sessionText } from '../../src/session/read/serialize.ts';
import { smallSession } from '../helpers/session-file.ts';

const session = setReceived(
  smallSession(),
  smallSession().tracks.map((track) => ({ track: track.id, gainDb: 0, pan: 0 })),
);
const [{ id }] = session.tracks as [(typeof session.tracks)[number]];

test('the received balance is the levels and pans that it was set to, and does not follow the tracks', () => {
  const moved = changeTrack(session, id, { gainDb: -6, pan: 0.5 });
  expect(receivedPlace(moved, id)).toEqual({ gainDb: 0, pan: 0 });
  expect(isAtReceived(moved)).toBe(false);
  const taken = takeAsReceived(moved);
  expect(receivedPlace(taken, id)).toMatchObject({ gainDb: -6, pan: 0.5 });
  expect(isAtReceived(taken)).toBe(true);
  expect(receivedPlace(changeTrack(taken, id, { gainDb: 3 }), id)).toMatchObject({ gainDb: -6, pan: 0.5 });
  expect(takeAsReceived(taken)).toBe(taken);
  expect(receivedPlace(takeAsReceived(setOn(taken, id, false)), id).gainDb).toBe(CLOSED_DB);
  expect(parseSession(sessionText(taken), 'song.json').receivedBalance).toEqual(taken.receivedBalance);
});

test('a track takes its place in it along, unless a pass still has the track', () => {
  const placed = setReceived(session, [{ track: id, gainDb: -6, pan: 0 }]);
  expect(removeTrack(placed, id).receivedBalance).toEqual([]);
  const kept = removeTrack(savePass(placed, 'First'), id);
  expect(kept.receivedBalance).toHaveLength(1);
  expect(receivedPlace(restorePass(kept, 'first'), id).gainDb).toBe(-6);
  expect(deletePass(kept, 'first').receivedBalance).toEqual([]);
  // A new track of the same name is received as it comes.
  const { name, group } = placed.tracks[0]!;
  const again = addTrack(kept, { name, file: 'other.wav', group });
  expect(receivedPlace(again, again.tracks.at(-1)!.id)).toEqual({ gainDb: 0, pan: 0 });
});

test('a file that names a track twice, or none of the session, is refused at that place', () => {
  const place = { track: id, gainDb: -6, pan: 0 };
  expect(problemsOf({ ...session, receivedBalance: [place, place] })[0]).toMatchObject({
    ...{ code: 'duplicate-id', path: 'receivedBalance[1].track' },
  });
  expect(problemsOf({ ...session, receivedBalance: [{ ...place, track: 'nobody' }] })[0]).toMatchObject({
    ...{ code: 'missing-target', path: 'receivedBalance[0].track' },
  });
});

test('a file that says nothing of it was received as its tracks stand in it', () => {
  const older = { ...takeAsReceived(session), receivedBalance: undefined };
  const [first, ...others] = older.tracks;
  const tracks = [{ ...first!, gainDb: -4, pan: 0.25 }, ...others.map((track) => ({ ...track, on: false }))];
  const opened = parseSession(JSON.stringify({ ...older, tracks }), 'song.json');
  expect(receivedPlace(opened, id)).toMatchObject({ gainDb: -4, pan: 0.25 });
  for (const track of others) expect(receivedPlace(opened, track.id).gainDb).toBe(CLOSED_DB);
  expect(isAtReceived(opened)).toBe(true);
});
