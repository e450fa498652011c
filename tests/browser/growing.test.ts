import { afterEach, expect, it } from 'vitest';
import { BenchEngine } from '../../src/engine/bench-engine.ts';
import { setBlend } from '../../src/session/edits.ts';
import { played } from './played.ts';
import { longerFiles, shortSong, until } from './short-song.ts';
import type { Audition } from '../../src/audition/audition.ts';
import type { EngineView } from '../../src/engine/engine.ts';

let engine: BenchEngine | null = null;
afterEach(() => {
  engine?.dispose();
  engine = null;
});

it('a mix is heard while it is being rendered, matched by estimates, through an edit, and whole without a gap', async () => {
  engine = new BenchEngine();
  const bench = engine;
  const seen: EngineView[] = [];
  bench.listen(() => seen.push(bench.view));
  const song = shortSong();
  await bench.open(song, await longerFiles());
  await until(() => bench.view.audible.includes('mix'), 'the mix');
  // It was there before it was rendered; its level was an estimate.
  const first = seen.find(({ audible }) => audible.includes('mix'))!;
  expect(first.state.phase).toBe('rendering');
  expect(first.audible).toEqual(expect.arrayContaining(['rough', 'received', 'mix']));
  expect([...first.comparison.unsettled]).toEqual(expect.arrayContaining(['received', 'mix']));
  expect(first.comparison.levels.get('mix')).toBeLessThan(0);

  await bench.play();
  // A blend that is moved starts nothing anew.
  bench.apply(setBlend(song, 'squeeze', -3));
  const { audition } = (bench as unknown as { player: { audition: Audition } }).player;
  await played(audition, 0.5);
  await until(() => bench.view.isMeasured, 'measuring');
  expect(bench.view.playing).toBe(true);
  expect(bench.view.waits).toBe(false);
  expect(audition.lateStretches).toBe(0);
  expect(bench.view.comparison.unsettled.has('mix')).toBe(false);
});
