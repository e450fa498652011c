import { expect, test } from 'vitest';
import { Bench } from '../../../src/ui/bench/bench.svelte.ts';
import { setBlend } from '../../../src/session/edits.ts';
import { FakeEngine } from './fake-engine.ts';
import { fakeSession } from './fake-session.ts';

const song = fakeSession();

const openBench = async (): Promise<{ bench: Bench; engine: FakeEngine }> => {
  const engine = new FakeEngine();
  const bench = new Bench(engine);
  await engine.open(song, new Map());
  bench.take(song, true);
  return { bench, engine };
};
const bus = song.buses[0]!.id;
const blendOf = (bench: Bench): number => bench.session!.buses[0]!.blendDb;
const applied = (engine: FakeEngine): number => engine.calls.filter(([name]) => name === 'apply').length;

test('what is tried out is shown and sounded, and dropping it brings the session back', async () => {
  const { bench, engine } = await openBench();
  const before = blendOf(bench);
  bench.tryOut('louder', (session) => setBlend(session, bus, -3));
  expect(blendOf(bench)).toBe(-3);
  expect(applied(engine)).toBe(1);
  expect(bench.isChanged).toBe(false);
  bench.dropTried();
  expect(blendOf(bench)).toBe(before);
  expect(applied(engine)).toBe(2);
  expect(bench.undoLabel).toBeNull();
});

test('taken, it is one step that can be undone', async () => {
  const { bench } = await openBench();
  const before = blendOf(bench);
  bench.tryOut('louder', (session) => setBlend(session, bus, -3));
  bench.tryOut('softer', (session) => setBlend(session, bus, -30));
  bench.takeTried();
  expect([blendOf(bench), bench.trying, bench.undoLabel]).toEqual([-30, null, 'softer']);
  bench.undo();
  expect(blendOf(bench)).toBe(before);
});

test('an edit made meanwhile takes it first, so that nothing heard is lost', async () => {
  const { bench } = await openBench();
  bench.tryOut('louder', (session) => setBlend(session, bus, -3));
  bench.edit('other', (session) => setBlend(session, song.buses[1]!.id, -20));
  expect(bench.session!.buses.slice(0, 2).map(({ blendDb }) => blendDb)).toEqual([-3, -20]);
  bench.undo();
  expect([blendOf(bench), bench.undoLabel]).toEqual([-3, 'louder']);
});
