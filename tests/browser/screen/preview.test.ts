import { expect, test } from 'vitest';
import { Bench } from '../../../src/ui/bench/bench.svelte.ts';
import { setBlend } from '../../../src/session/edits/edits.ts';
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
const [bus, other] = song.buses.map(({ id }) => id) as [string, string];
const blendsOf = (bench: Bench): number[] => bench.session!.buses.slice(0, 2).map(({ blendDb }) => blendDb);
const [first, second] = song.buses.map(({ blendDb }) => blendDb) as [number, number];
const applied = (engine: FakeEngine): number => engine.calls.filter(([name]) => name === 'apply').length;

test('a preview is shown and sounded, and discarding it brings the session back', async () => {
  const { bench, engine } = await openBench();
  bench.preview('louder', (session) => setBlend(session, bus, -3));
  expect(blendsOf(bench)).toEqual([-3, second]);
  expect(applied(engine)).toBe(1);
  expect(bench.isChanged).toBe(false);
  bench.discardPreview();
  expect(blendsOf(bench)).toEqual([first, second]);
  expect(applied(engine)).toBe(2);
  expect(bench.undoLabel).toBeNull();
});

test('applied, it is one step that can be undone', async () => {
  const { bench } = await openBench();
  bench.preview('louder', (session) => setBlend(session, bus, -3));
  bench.preview('softer', (session) => setBlend(session, bus, -30));
  bench.applyPreview();
  expect([blendsOf(bench)[0], bench.previewLabel, bench.undoLabel]).toEqual([-30, null, 'softer']);
  bench.undo();
  expect(blendsOf(bench)).toEqual([first, second]);
});

test('an edit made meanwhile applies nothing: it is kept when the preview is discarded', async () => {
  const { bench } = await openBench();
  bench.preview('louder', (session) => setBlend(session, bus, -3));
  bench.edit('other', (session) => setBlend(session, other, -20));
  expect([blendsOf(bench), bench.previewLabel]).toEqual([[-3, -20], 'louder']);
  bench.discardPreview();
  expect([blendsOf(bench), bench.undoLabel]).toEqual([[first, -20], 'other']);
});

test('and when it is applied, which is a step of its own', async () => {
  const { bench } = await openBench();
  bench.preview('louder', (session) => setBlend(session, bus, -3));
  bench.edit('other', (session) => setBlend(session, other, -20));
  bench.applyPreview();
  expect(blendsOf(bench)).toEqual([-3, -20]);
  bench.undo();
  expect([blendsOf(bench), bench.undoLabel]).toEqual([[first, -20], 'other']);
});

test('undo takes back edits within the preview first, then leaves it, and redo stays within it', async () => {
  const { bench } = await openBench();
  bench.edit('before', (session) => setBlend(session, other, -11));
  bench.preview('louder', (session) => setBlend(session, bus, -3));
  bench.edit('other', (session) => setBlend(session, other, -20));
  bench.undo();
  expect([blendsOf(bench), bench.undoLabel, bench.redoLabel]).toEqual([[-3, -11], 'preview of louder', 'other']);
  bench.redo();
  expect(blendsOf(bench)).toEqual([-3, -20]);
  bench.undo();
  bench.undo();
  expect([blendsOf(bench), bench.previewLabel, bench.undoLabel]).toEqual([[first, -11], null, 'before']);
});

test('an edit that the previewed session refuses is refused in both', async () => {
  const { bench } = await openBench();
  bench.preview('louder', (session) => setBlend(session, bus, -3));
  const refused = bench.edit('wrong', (session) => {
    if (session.buses[0]!.blendDb === -3) throw new Error('not here');
    return setBlend(session, other, -20);
  });
  expect([refused, blendsOf(bench), bench.notice !== null]).toEqual([false, [-3, second], true]);
});
