import { afterEach, expect, test } from 'vitest';
import { deleteDB } from 'idb';
import { KeptRoom } from '../../src/engine/kept/kept-room.ts';
import { openKeptDatabase } from '../../src/engine/kept/kept-database.ts';
import { receivedFolder } from '../../src/engine/kept/received-folder.ts';
import { claim, claimedSessions, takeOver } from '../../src/engine/kept/session-claim.ts';
import { TakenError, type Snapshot } from '../../src/engine/kept/session-writer.ts';
import { changeSong, setBlend } from '../../src/session/edits/edits.ts';
import { endGesture, record, redo, startHistory, undo, type History } from '../../src/session/history.ts';
import { savePass } from '../../src/session/passes/passes.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import { withHues } from '../../src/session/hues.ts';
import { sessionText } from '../../src/session/read/serialize.ts';
import { seeded } from '../helpers/signals.ts';
import version1 from '../session/version-1-demo.json';
import { fakeSession } from './screen/fake-session.ts';

const NAME = 'kept by a test';
const song = withHues(fakeSession());
const [bus] = song.buses.map(({ id }) => id) as [string];
const rooms: KeptRoom[] = [];

const openRoom = async (): Promise<KeptRoom> => {
  const room = await KeptRoom.open(NAME);
  rooms.push(room);
  return room;
};

afterEach(async () => {
  for (const room of rooms.splice(0)) room.close();
  await deleteDB(NAME);
});

const snapshot = (history: History, files: Snapshot['files'] = {}): Snapshot => ({
  ...{ history, isInFile: false, changed: 1, files, view: { path: bus } },
});

/** One of the things that can be done to a history, by a number below 1. */
const moved = (history: History, at: number, draw: number): History => {
  const db = -Math.round(draw * 400) / 10;
  const blend = (gesture: string | null): History =>
    record(history, setBlend(history.present, bus, db), `blend ${db}`, gesture);
  if (at < 0.3) return blend(null);
  if (at < 0.5) return blend('drag');
  if (at < 0.55) return endGesture(history);
  if (at < 0.65) return record(history, changeSong(history.present, { title: `Title ${db}` }), 'retitle');
  if (at < 0.7) return record(history, savePass(history.present, `Pass ${db}`), 'save pass');
  return at < 0.88 ? undo(history) : redo(history);
};

test('the folder that the user has a session in is known again', async () => {
  const room = await openRoom();
  const folder = await navigator.storage.getDirectory();
  const place = { folder, file: 'session.json', modified: 5 };
  await room.writer('one').write({ ...snapshot(startHistory(song)), place });
  const read = (await room.read('one')).record.place as typeof place;
  expect({ ...read, folder: null }).toEqual({ ...place, folder: null });
  expect(await read.folder.isSameEntry(folder)).toBe(true);
});

test('whatever was done, what is read is what was there: session, passes, and all that can be undone and redone', async () => {
  const room = await openRoom();
  const draw = seeded(14);
  const writer = room.writer('one');
  let history = startHistory(song);
  for (let n = 0; n < 120; n++) {
    history = moved(history, draw(), draw());
    // Not every state is written: some come too quickly.
    if (draw() < 0.6) continue;
    await writer.write(snapshot(history));
    const read = await room.read('one');
    expect(read.history).toEqual(endGesture(history));
    expect(read.record.view).toEqual({ path: bus });
  }
  expect(history.past.length).toBeGreaterThan(10);
});

test('a step is written once; what is read again shares with its neighbours what a step left alone', async () => {
  const room = await openRoom();
  const writer = room.writer('one');
  let history = startHistory(song);
  for (let n = 0; n < 5; n++) history = record(history, setBlend(history.present, bus, -n - 1), `blend ${n}`);
  await writer.write(snapshot(history));
  const numbers = async (): Promise<number[]> => (await room.read('one')).record.past.map(({ number }) => number);
  const before = await numbers();
  await writer.write(snapshot(record(history, setBlend(history.present, bus, -20), 'one more')));
  expect((await numbers()).slice(0, 5)).toEqual(before);
  const { history: read, steps, record: kept } = await room.read('one');
  expect(read.past[0]!.session.groups).toBe(read.present.groups);
  expect(kept.bytes).toBeLessThan(1.2 * sessionText(song).length);

  // Whoever reads it goes on where it was left.
  const next = room.writer('one');
  next.know(read, steps!);
  await next.write(snapshot(undo(read)));
  const again = await room.read('one');
  expect(again.record.past.map(({ number }) => number)).toEqual(before);
  expect(again.history).toEqual(undo(read));
});

test('who writes first has the session; the one before is refused and has written nothing', async () => {
  const room = await openRoom();
  const [first, second] = [room.writer('one'), room.writer('one')];
  await first.write(snapshot(startHistory(song)));
  await second.write(snapshot(startHistory({ ...song, title: 'Second' })));
  await expect(first.write(snapshot(startHistory({ ...song, title: 'First' })))).rejects.toBeInstanceOf(TakenError);
  expect((await room.read('one')).history.present.title).toBe('Second');
});

test('a session of an earlier version is brought to this one, and so is what can be undone', async () => {
  const room = await openRoom();
  const text = JSON.stringify(version1);
  const now = parseSession(text, 'session.json');
  await room.writer('old').write(snapshot(record(startHistory(now), { ...now, title: 'Later' }, 'retitle')));
  const database = await openKeptDatabase(NAME);
  await database.put('documents', JSON.stringify({ ...version1, title: 'Later' }), 'old');
  database.close();
  const { history, steps } = await room.read('old');
  expect(history.present).toEqual({ ...now, title: 'Later' });
  expect(history.past.map((step) => step.session)).toEqual([now]);
  expect(steps).toBeNull();
});

test('a received file is kept once whatever it is called, and goes when no session names it', async () => {
  // The folder is one for the whole address, and what no session of this room names is removed from it.
  const room = await KeptRoom.open();
  rooms.push(room);
  const bytes = Uint8Array.from({ length: 100_000 }, (_, n) => (n * 7919) % 251);
  const names: string[] = [];
  const keep = (blob: Blob): Promise<void> =>
    room.keepFile(blob, (name) => {
      names.push(name);
      return Promise.resolve();
    });
  await keep(new Blob([bytes]));
  await keep(new File([bytes], 'other.wav'));
  expect(names[1]).toBe(names[0]);
  const files = { 'a.wav': names[0]!, 'b.wav': names[0]! };
  await room.writer('one').write(snapshot(startHistory(song), files));
  const found = await room.filesOf({ files });
  expect([...found.keys()]).toEqual(['a.wav', 'b.wav']);
  expect(new Uint8Array(await found.get('b.wav')!.arrayBuffer())).toEqual(bytes);

  await room.duplicate('one');
  const listed = await room.list();
  expect(listed.map(({ title, soundBytes }) => [title, soundBytes])).toEqual([
    ['Low Tide copy', bytes.length],
    ['Low Tide', bytes.length],
  ]);
  await room.remove(['one']);
  expect((await room.filesOf({ files })).size).toBe(2);
  await room.freeSpace(listed[0]!.id);
  expect((await room.filesOf({ files })).size).toBe(0);
  const left: string[] = [];
  for await (const name of (await receivedFolder()).keys()) left.push(name);
  expect(left).not.toContain(names[0]);
  expect((await room.read(listed[0]!.id)).history.present.title).toBe('Low Tide copy');
  await room.remove([listed[0]!.id]);
  expect(await room.list()).toEqual([]);
});

test('a session is one page’s; another that asks for it has it once what waits is written, or when nobody answers', async () => {
  const told: string[] = [];
  const claiming = (who: string, answers = true) => ({
    id: 'claimed',
    onAsked: () => (answers ? Promise.resolve(void told.push(`${who} writes`)) : new Promise<void>(() => {})),
    onLost: () => void told.push(`${who} has it no more`),
  });
  const first = await claim(claiming('first'));
  expect(first).not.toBeNull();
  expect(await claim(claiming('second'))).toBeNull();
  expect([...(await claimedSessions())]).toEqual(['claimed']);
  await takeOver(claiming('second', false));
  expect(told).toEqual(['first writes', 'first has it no more']);
  const third = await takeOver(claiming('third'));
  await expect.poll(() => told.at(-1)).toBe('second has it no more');
  third.release();
  await expect.poll(async () => [...(await claimedSessions())]).toEqual([]);
});
