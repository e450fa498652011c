import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { cacheKey } from '../../src/render/executor.ts';
import { SPARE_STRIP_BYTES } from '../../src/render/memory-budget.ts';
import { setSetting } from '../../src/session/chain/chain-edits.ts';
import type { Session } from '../../src/session/schema.ts';
import { EngineHost } from '../../src/engine/worker/engine-host.ts';
import { shortSong, shortSongFiles, until } from './short-song.ts';
import { watchWorkers } from './watch-workers.ts';

/** What hosts of strips were asked, by its name (strip-host.ts). */
const asked: string[] = [];
/** Told of each at once. */
let onAsked = (_name: string): void => {};
let workers = 0;
let modules = 0;

beforeEach(() => {
  asked.length = workers = modules = 0;
  const post = Worker.prototype.postMessage;
  vi.spyOn(Worker.prototype, 'postMessage').mockImplementation(function (this: Worker, ...args: unknown[]) {
    const { path } = args[0] as { readonly path?: readonly string[] };
    Reflect.apply(post, this, args);
    if (!path) return;
    asked.push(path.join('.'));
    onAsked(path.join('.'));
  });
  const add = AudioWorklet.prototype.addModule;
  vi.spyOn(AudioWorklet.prototype, 'addModule').mockImplementation(function (this: AudioWorklet, ...args) {
    modules++;
    return add.apply(this, args);
  });
  watchWorkers(() => workers++);
});
afterEach(() => {
  onAsked = () => {};
  vi.unstubAllGlobals();
  vi.restoreAllMocks();
});

const count = (name: string): number => asked.filter((each) => each === name).length;

const threshold = (session: Session, db: number): Session => setSetting(session, 'squeeze', 'c', 'threshold', db);

let host: EngineHost | null = null;
afterEach(() => {
  host?.dispose();
  host = null;
});

/** The host of the engine in this thread, where its workers can be listened in on, with a song rendered and measured. */
const opened = async (song: Session): Promise<EngineHost> => {
  let isMeasured = false;
  host = new EngineHost(({ kind }) => (isMeasured ||= kind === 'settled'));
  await host.open(1, song, shortSongFiles());
  await until(() => isMeasured, 'measuring');
  return host;
};

const isThere = (bench: EngineHost, session: Session): boolean => {
  const { plan } = bench['song'].planned(session);
  return plan.strips.every((strip) => bench['song'].strips.get(cacheKey(plan, strip)));
};

const restsAt = (bench: EngineHost, session: Session): Promise<void> =>
  until(() => isThere(bench, session) && bench['pace']['run'] === null, 'rendering');

/** Strips that sound otherwise once the threshold has moved: the bus itself. */
const MOVED = 1;

it('quick moves of a slider are one render, of the newest value, without another module or worker', async () => {
  const song = shortSong();
  const bench = await opened(song);
  bench.apply(2, threshold(song, -29));
  await restsAt(bench, threshold(song, -29));
  const [before, there] = [count('begin'), workers];
  for (let n = 0; n < 40; n++) bench.apply(3 + n, threshold(song, -30 + n / 4));
  const last = threshold(song, -30 + 39 / 4);
  await restsAt(bench, last);
  expect(count('begin') - before).toBe(MOVED);
  expect(workers).toBe(there);
  expect(modules).toBe(0);
});

it('a move while one renders stops that one, and the newest is what stands at the end', async () => {
  const song = shortSong();
  const bench = await opened(song);
  for (const db of [-12, -11]) {
    // The next comes as soon as one has begun: a short song is soon rendered.
    const begun = new Promise<void>((resolve) => {
      onAsked = (name) => {
        if (name === 'begin') resolve();
      };
    });
    bench.apply(-db, threshold(song, db));
    await begun;
  }
  await restsAt(bench, threshold(song, -11));
  expect(isThere(bench, threshold(song, -12))).toBe(false);
});

it('renders that were replaced are let go', async () => {
  const song = shortSong();
  const bench = await opened(song);
  const { inHand } = bench['song'].strips.bytes;
  for (let n = 0; n < 8; n++) {
    const moved = threshold(song, -20 - n);
    bench.apply(2 + n, moved);
    await restsAt(bench, moved);
    expect(bench['song'].strips.bytes.inHand).toBe(inHand);
    expect(bench['song'].strips.bytes.spare).toBeLessThanOrEqual(SPARE_STRIP_BYTES);
  }
});
