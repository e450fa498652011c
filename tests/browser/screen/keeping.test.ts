import { afterEach, expect, test } from 'vitest';
import type { KeptRoom } from '../../../src/engine/kept/kept-room.ts';
import type { Snapshot } from '../../../src/engine/kept/session-writer.ts';
import { setBlend } from '../../../src/session/edits/edits.ts';
import { Bench } from '../../../src/ui/bench/bench.svelte.ts';
import { Intake } from '../../../src/ui/intake/intake.svelte.ts';
import { Keeping } from '../../../src/ui/kept/keeping.svelte.ts';
import { FakeEngine } from './fake-engine.ts';
import { fakeSession } from './fake-session.ts';

const song = fakeSession();
const [bus] = song.buses.map(({ id }) => id) as [string];

afterEach(() => sessionStorage.clear());

/** A room whose disk takes what it is given, or refuses it as a browser does. */
const openRoom = () => {
  const disk = { isFull: true, written: [] as Snapshot[] };
  const full = (): Promise<never> => Promise.reject(new DOMException('no room', 'QuotaExceededError'));
  const room = {
    writer: (id: string) => ({
      id,
      write: (snapshot: Snapshot) => (disk.isFull ? full() : Promise.resolve(void disk.written.push(snapshot))),
    }),
    keepFile: full,
    filesOf: () => Promise.resolve(new Map()),
    noteOpen: full,
    twinsOf: () => Promise.resolve([]),
    remove: () => Promise.resolve(),
  };
  return { disk, room: Promise.resolve(room as unknown as KeptRoom) };
};

const openBench = async (room: Promise<KeptRoom>) => {
  const engine = new FakeEngine();
  const bench = new Bench(engine);
  const keeping = new Keeping(bench, new Intake(bench), room);
  await engine.open(song, new Map());
  bench.take(song, true);
  keeping.follow();
  return { bench, keeping };
};

test('a full disk is told in one sentence, work goes on, and is kept once there is space', async () => {
  const { disk, room } = openRoom();
  const { bench, keeping } = await openBench(room);
  await expect.poll(() => keeping.sentence).toMatch(/^The browser’s storage is full: [^.]*\. Save it to a file/);
  expect([keeping.steadiness, keeping.isSafe]).toEqual(['refused', false]);
  expect(bench.edit('blend', (session) => setBlend(session, bus, -20))).toBe(true);
  disk.isFull = false;
  bench.edit('blend', (session) => setBlend(session, bus, -21));
  keeping.follow();
  await expect.poll(() => keeping.steadiness).toBe('kept');
  expect([keeping.sentence, keeping.isSafe]).toEqual(['', true]);
  expect(disk.written.at(-1)!.history).toEqual(bench.history);
});

test('where the browser keeps nothing at all, that is told once the bench has a session', async () => {
  const { bench, keeping } = await openBench(Promise.reject(new DOMException('not allowed', 'SecurityError')));
  await expect.poll(() => keeping.sentence).toMatch(/^This browser keeps nothing for this page/);
  expect([keeping.steadiness, keeping.isSafe]).toEqual(['refused', false]);
  keeping.dismiss();
  bench.edit('blend', (session) => setBlend(session, bus, -20));
  keeping.follow();
  expect(keeping.sentence).toBe('');
});
