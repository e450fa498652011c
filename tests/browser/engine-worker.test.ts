import { afterEach, expect, it, vi } from 'vitest';
import { setBlend } from '../../src/session/edits/edits.ts';
import { BenchEngine } from '../../src/engine/bench-engine.ts';
import { shortSong, shortSongFiles, until } from './short-song.ts';
import { watchWorkers } from './watch-workers.ts';

let engine: BenchEngine | null = null;
const started: Worker[] = [];

afterEach(() => {
  engine?.dispose();
  engine = null;
  started.length = 0;
  vi.unstubAllGlobals();
  vi.restoreAllMocks();
});

/** The engine with the short song, measured; its workers can be told apart. */
const opened = async (song = shortSong()): Promise<BenchEngine> => {
  watchWorkers((worker) => started.push(worker));
  engine = new BenchEngine();
  await engine.open(song, shortSongFiles());
  const bench = engine;
  await until(() => bench.view.isMeasured, 'measuring');
  return bench;
};

const breakDown = (): boolean =>
  started
    .at(-1)!
    .dispatchEvent(new ErrorEvent('error', { message: 'Uncaught RangeError: Array buffer allocation failed' }));

it('a worker that breaks down says so, and the next edit goes on with the session and its files', async () => {
  const bench = await opened();
  const before = bench.view.findings.mix!.integratedLufs!;
  const asked = bench.ask({ kind: 'ledger', section: null });
  breakDown();
  await expect(asked).rejects.toThrow('Array buffer allocation failed');
  expect(bench.view.state).toMatchObject({
    phase: 'failed',
    message:
      'The engine stopped (Array buffer allocation failed). ' +
      'The session is kept: try again, or undo the last change.',
  });

  bench.apply(setBlend(shortSong(), 'squeeze', -20));
  bench.apply(setBlend(shortSong(), 'squeeze', -3));
  await until(() => bench.view.isMeasured, 'measuring anew');
  expect(started).toHaveLength(2);
  expect([bench.view.state.phase, bench.view.missing]).toEqual(['ready', []]);
  expect(Math.abs(bench.view.findings.mix!.integratedLufs! - before)).toBeGreaterThan(0.1);
  bench.apply(shortSong());
  await until(() => bench.view.isMeasured, 'the mix as it was');
  expect(bench.view.findings.mix!.integratedLufs).toBeCloseTo(before, 9);
});

it('an edit that leaves the mix as it sounds measures nothing anew; all figures hold for it', async () => {
  const song = shortSong();
  const bench = await opened(song);
  const parts = new Set([bench.view.measuredPart]);
  const stop = bench.listen(() => parts.add(bench.view.measuredPart));
  const { findings } = bench.view;
  const noted = { ...song, notes: 'Louder vocal in the chorus.' };
  bench.apply(noted);
  await until(() => bench.view.isMeasured, 'what is known being told');
  // Where it stood, and none.
  expect(parts.size).toBeLessThanOrEqual(2);
  const told = bench.view.findings;
  // Told anew, so that nobody takes it for figures from before the edit.
  for (const stage of ['mix', 'beforeMixBus', 'paths', 'guards'] as const) {
    expect(told[stage], stage).toEqual(findings[stage]);
    expect(told[stage], stage).not.toBe(findings[stage]);
  }
  bench.apply({ ...noted, mixBus: { ...noted.mixBus, trimDb: -7 } });
  await until(() => bench.view.isMeasured, 'measuring anew');
  expect(parts.size).toBeGreaterThan(2);
  expect(bench.view.findings.mix!.integratedLufs).not.toBe(findings.mix!.integratedLufs);
  stop();
});

it('what plays stops where the worker breaks down that has its sound, and what comes after is heard', async () => {
  const bench = await opened();
  await bench.play();
  breakDown();
  await until(() => !bench.view.playing, 'silence');
  bench.apply(shortSong());
  await until(() => bench.view.isMeasured && bench.view.audible.includes('mix'), 'the mix');
  await bench.play();
  expect(bench.view.playing).toBe(true);
});

it('files that were read and are opened then are read once', async () => {
  const read: string[] = [];
  const bench = (engine = new BenchEngine());
  bench.listen(() => {
    const { phase, message } = bench.view.state;
    if (phase === 'loading' && read.at(-1) !== message) read.push(message);
  });
  const files = shortSongFiles();
  for (const [path, file] of files) await bench.addFiles(new Map([[path, file]]));
  expect(read).toEqual([...files.keys()].map((path) => `Reading ${path}`));
  await bench.open(shortSong(), files);
  await until(() => bench.view.isMeasured, 'measuring');
  expect(read).toHaveLength(files.size);
  // Another file under the name of one that was read is not that one.
  const [[path, file]] = [...files] as [[string, Blob]];
  await bench.open(shortSong(), new Map(files).set(path, new Blob([file])));
  expect(read).toHaveLength(files.size + 1);
});

it('a file of the last song is not taken for one of the same name that this song misses', async () => {
  const bench = await opened();
  const [path, ...others] = [...shortSongFiles().keys()] as [string, ...string[]];
  await bench.open(shortSong(), new Map([...shortSongFiles()].filter(([each]) => others.includes(each))));
  await until(() => bench.view.missing.length > 0, 'missing');
  expect(bench.view.missing).toEqual([path]);
});

it('a reading that is cancelled leaves the song whole and measured', async () => {
  const bench = await opened();
  const [[, file]] = [...shortSongFiles()] as [[string, Blob]];
  // So many that they cannot all have been read before the cancel arrives.
  const adding = bench.addFiles(new Map(Array.from({ length: 300 }, (_, n) => [`more ${n}.wav`, file] as const)));
  bench.cancel();
  await expect(adding).rejects.toMatchObject({ name: 'AbortError' });
  await until(() => bench.view.isMeasured, 'measuring');
  expect(bench.view.state.phase).toBe('ready');
});
