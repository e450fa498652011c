import { afterEach, expect, it } from 'vitest';
import { BenchEngine } from '../../src/engine/bench-engine.ts';
import { addProcessor, setSetting } from '../../src/session/chain/chain-edits.ts';
import type { Session } from '../../src/session/schema.ts';
import { setBlend } from '../../src/session/edits/edits.ts';
import { EngineHost } from '../../src/engine/worker/engine-host.ts';
import type { EngineMessage } from '../../src/engine/worker/protocol.ts';
import { played } from './played.ts';
import { longerFiles, shortSong, until } from './short-song.ts';
import type { Audition } from '../../src/audition/audition.ts';
import type { EngineView } from '../../src/engine/engine.ts';

let engine: BenchEngine | null = null;
afterEach(() => {
  engine?.dispose();
  engine = null;
});

/** With a processor that takes its time, so that the render does not end before it is heard. */
const slowSong = (): Session => addProcessor(shortSong(), 'drums', 'tape');

it('a mix is heard while it is being rendered, matched by estimates, through an edit, and whole without a gap', async () => {
  engine = new BenchEngine();
  const bench = engine;
  const seen: EngineView[] = [];
  bench.listen(() => seen.push(bench.view));
  const song = slowSong();
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
  await until(() => !bench.view.waits, 'playing');
  expect(bench.view.comparison.unsettled.has('mix')).toBe(false);
});

it('what is edited while a song is first rendered is heard before all of it is there; what the edit leaves alone goes on', async () => {
  const told: Extract<EngineMessage, { kind: 'growing' | 'hearable' }>[] = [];
  const host = new EngineHost((message) => {
    if (message.kind === 'growing' || (message.kind === 'hearable' && message.hearable.received)) told.push(message);
  });
  try {
    const song = slowSong();
    await host.open(1, song, await longerFiles());
    await until(() => told.length > 0, 'the mix');
    host.apply(2, setSetting(song, 'squeeze', 'c', 'threshold', -12));
    const paths = (n: number) => told[n]!.hearable.paths;
    await until(() => told.some((_, n) => paths(n).get('squeeze')!.id !== paths(0).get('squeeze')!.id), 'the edit');
    const edited = told.findIndex((_, n) => paths(n).get('squeeze')!.id !== paths(0).get('squeeze')!.id);
    expect(told[edited]!.kind).toBe('growing');
    expect(paths(edited).get('drums')).toEqual(paths(0).get('drums'));
    await until(() => told.some(({ kind }) => kind === 'hearable'), 'the whole');
    expect(paths(told.length - 1)).toEqual(paths(edited));
    expect(told.at(-1)!.hearable.received).toEqual(told[0]!.hearable.received);
  } finally {
    host.dispose();
  }
});
