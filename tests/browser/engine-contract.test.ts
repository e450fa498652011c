import { afterAll, afterEach, describe, expect, it } from 'vitest';
import { setBlend, setVocal } from '../../src/session/edits/edits.ts';
import type { Session } from '../../src/session/schema.ts';
import { BenchEngine } from '../../src/engine/bench-engine.ts';
import type { AudioFiles, Engine } from '../../src/engine/engine.ts';
import { chainedSong } from './opened-engine.ts';
import { FakeEngine } from './screen/fake-engine.ts';
import { shortSong, shortSongFiles, until } from './short-song.ts';

// What the screen relies on. Its own tests run on the fake engine, so the fake must keep what the real one keeps.

const PATHS = ['drums', 'bass', 'squeeze'];
const ORDER = { bits: '24', rate: null, stemsTakeGain: false, targetLufs: null, ceilingDbtp: null } as const;

/** The short song, its bass sung: without vocals there is no a cappella. */
const sungSong = (): Session => setVocal(shortSong(), 'bass', true);

const AXIS = { bus: 'squeeze', from: -12, to: 0, step: 6 };

describe.each([
  ['the real engine', () => new BenchEngine()],
  ['the fake engine', () => new FakeEngine()],
] as const)('%s', (_, make: () => Engine) => {
  let engine: Engine | null = null;
  afterEach(() => engine?.dispose());

  const made = (): Engine => (engine = make());
  const isWhole = ({ view }: Engine): boolean =>
    view.state.phase === 'ready' && view.findings.guards !== null && view.findings.mix !== null;
  const opened = async (song: Session = shortSong(), files: AudioFiles = shortSongFiles()): Promise<Engine> => {
    const bench = made();
    await bench.open(song, files);
    await until(() => isWhole(bench), 'measuring');
    return bench;
  };
  let asked: Engine | null = null;
  afterAll(() => asked?.dispose());
  /** The short song as it was opened first, for tests that leave it as it is. */
  const openedOnce = async (): Promise<Engine> => {
    if (!asked) {
      const bench = (asked = make());
      await bench.open(shortSong(), shortSongFiles());
      await until(() => isWhole(bench), 'measuring');
    }
    return asked;
  };

  it('holds nothing at first', () => {
    const { view } = made();
    expect(view.state).toEqual({ phase: 'empty', progress: 0, message: '' });
    expect([view.seconds, view.missing, view.playing, view.audible]).toEqual([0, [], false, []]);
    expect(view.findings).toMatchObject({ rough: null, received: null, mix: null, beforeMixBus: null, guards: null });
  });

  it('tells figures of the section in loop, anew after a move, until there is none', async () => {
    const bench = await opened();
    const range = { startSeconds: 1, endSeconds: 3 };
    bench.loop(range);
    const section = () => bench.view.findings.section;
    await until(() => section() !== null && !section()!.isEarly, 'the section');
    const { mix, rough } = section()!;
    expect(section()!.range).toEqual(range);
    expect(mix.integratedLufs).not.toBeNull();
    expect(rough!.integratedLufs).not.toBe(bench.view.findings.rough!.integratedLufs);
    const known = section();
    bench.apply(setBlend(shortSong(), 'squeeze', -20));
    await until(() => section() !== known && section() !== null && !section()!.isEarly, 'the section after a move');
    expect(section()!.mix.integratedLufs).not.toBe(mix.integratedLufs);
    bench.loop(null);
    await until(() => section() === null, 'no section');
  });

  it('knows every side and every path of a song once it is whole', async () => {
    const { view } = await openedOnce();
    expect(view.missing).toEqual([]);
    expect(view.seconds).toBeGreaterThan(0);
    expect([...view.findings.paths.keys()].sort()).toEqual([...PATHS].sort());
    for (const side of ['rough', 'received', 'mix'] as const) {
      expect(view.findings[side]!.integratedLufs, side).toBeLessThan(0);
      expect(view.audible, side).toContain(side);
    }
    expect(view.findings.beforeMixBus!.integratedLufs).toBeLessThan(0);
    expect(view.findings.guards!.length).toBeGreaterThan(0);
  });

  it('refuses a file that is no sound by its name, and keeps what it has', async () => {
    const bench = await openedOnce();
    const before = bench.view.findings.mix!.integratedLufs;
    const broken = new Map([['broken.wav', new Blob(['These are words.'])]]);
    await expect(bench.addFiles(broken)).rejects.toMatchObject({ name: 'ProblemError' });
    await until(() => isWhole(bench), 'what was there');
    expect(bench.view.findings.mix!.integratedLufs).toBe(before);
    expect(bench.view.missing).toEqual([]);
  });

  it('reads the files that come in the place of a song that is still read, and then reads nothing any more', async () => {
    const bench = made();
    const song = bench.open(shortSong(), shortSongFiles()).catch((error: unknown) => error);
    const [[path, sound]] = [...shortSongFiles()] as [[string, Blob]];
    const facts = await bench.addFiles(new Map([[`own-${path}`, sound]]));
    await song;
    expect(facts.map((read) => read.path)).toEqual([`own-${path}`]);
    expect(bench.view.state.phase).not.toBe('loading');
  });

  it('makes a song whole with the files that it misses, as soon as they come', async () => {
    const bench = made();
    const files = new Map(shortSongFiles());
    const bass = files.get('bass.wav')!;
    files.delete('bass.wav');
    await bench.open(shortSong(), files);
    await until(() => bench.view.missing.length > 0, 'what is missing');
    expect(bench.view.missing).toEqual(['bass.wav']);
    expect([bench.view.isMeasured, bench.view.audible.includes('mix')]).toEqual([false, false]);
    const [facts] = await bench.addFiles(new Map([['bass.wav', bass]]));
    expect(facts).toMatchObject({ path: 'bass.wav', sampleRate: 48_000 });
    await until(() => bench.view.isMeasured && bench.view.audible.includes('mix'), 'the whole song');
    expect(bench.view.missing).toEqual([]);
    expect(bench.view.findings.guards).not.toBeNull();
  });

  it('prints files under the names that the command line gives them', async () => {
    const bench = await opened(sungSong());
    const song = await bench.print({ ...ORDER, kinds: ['main', 'a-cappella', 'stems'] });
    expect(song.prints.map(({ name, kind }) => [kind, name])).toEqual([
      ['main', 'Test.wav'],
      ['a-cappella', 'Test - a cappella.wav'],
      ['stems', 'Test - Drums.wav'],
      ['stems', 'Test - Bass.wav'],
      ['stems', 'Test - Squeeze.wav'],
    ]);
    expect([song.report.name, song.recallSheet.name]).toEqual(['Test - report.md', 'Test - recall sheet.md']);
  });

  it('ends a print that is stopped, and has nothing of it', async () => {
    const bench = await openedOnce();
    const stop = new AbortController();
    const parts: number[] = [];
    const onProgress = (part: number): void => {
      parts.push(part);
      stop.abort();
    };
    const printing = bench.print({ ...ORDER, kinds: ['main', 'stems'], onProgress, signal: stop.signal });
    await expect(printing).rejects.toMatchObject({ name: 'AbortError' });
    expect(parts).toHaveLength(1);
    const again = bench.print({ ...ORDER, kinds: ['main'], signal: stop.signal });
    await expect(again).rejects.toMatchObject({ name: 'AbortError' });
  });

  it('replaces its view at every change and tells so, until nobody listens', async () => {
    const bench = await opened();
    const seen = new Set([bench.view]);
    const end = bench.listen(() => seen.add(bench.view));
    const { beforeMixBus } = bench.view.findings;
    bench.apply(setBlend(shortSong(), 'squeeze', -20));
    await until(() => bench.view.findings.beforeMixBus !== beforeMixBus, 'the new blend');
    expect(bench.view.findings.beforeMixBus).not.toEqual(beforeMixBus);
    expect(seen.size).toBeGreaterThan(1);
    expect(seen).toContain(bench.view);
    end();
    const told = seen.size;
    bench.pause();
    await bench.play();
    expect(seen.size).toBe(told);
  });

  it('plays and pauses, and goes where it is told', async () => {
    const bench = await openedOnce();
    bench.seek(3);
    expect(bench.position()).toBeCloseTo(3, 6);
    await bench.play();
    expect(bench.view.playing).toBe(true);
    bench.pause();
    expect(bench.view.playing).toBe(false);
  });

  it('makes a pass and a mix without a path audible when they are compared', async () => {
    const bench = await opened();
    bench.compare(['pass:gentle', 'without:bass']);
    await until(
      () => bench.view.audible.includes('pass:gentle') && bench.view.audible.includes('without:bass'),
      'both sides',
    );
    expect(bench.view.comparison.levels.get('rough')).toBeLessThan(0);
    await until(() => bench.view.matchedLufs !== null, 'a level for all');
    expect(bench.view.comparison.faults.size).toBe(0);
  });

  it('checks the files of a song, and leaves what is in hand as it is', async () => {
    const bench = await openedOnce();
    const { view } = bench;
    const files = [...shortSongFiles()];
    const parts: number[] = [];
    const rough = files.find(([path]) => path === 'rough.wav')!;
    const tracks = files.filter((each) => each !== rough);
    const received = await bench.receive({ tracks, rough }, { onProgress: (part) => parts.push(part) });
    expect(received.tracks.map(({ file }) => file)).toEqual(tracks.map(([path]) => path));
    expect(received.rough!.explained.tracks).toHaveLength(tracks.length);
    expect(received.aside).toEqual([]);
    expect(parts).toEqual(parts.toSorted((a, b) => a - b));
    expect(bench.view.findings).toBe(view.findings);
  });

  it('answers each question about every path, blend and processor that is asked about', async () => {
    const bench = await openedOnce();
    const { paths, flow } = await bench.ask({ kind: 'ledger', section: null });
    expect(paths.map(({ id }) => id)).toEqual(PATHS);
    const shares = flow.links.filter(({ to }) => to === null).reduce((sum, { share }) => sum + share, 0);
    expect(shares).toBeCloseTo(1, 6);
    const rows = await bench.ask({ kind: 'processors', path: 'squeeze', section: null });
    expect(rows.map(({ item }) => item)).toEqual(['c']);
    const steps = await bench.ask({ kind: 'bring up', order: ['squeeze'], downDb: Infinity });
    expect(steps.length).toBeGreaterThan(0);
    const stage = { path: 'squeeze', item: 'c', range: { startSeconds: 1, endSeconds: 3 } };
    expect(await bench.ask({ kind: 'match make-up', ...stage })).toBeTypeOf('number');
    const reduction = await bench.ask({ kind: 'reduction', ...stage });
    expect(reduction!.reductionDb.length * reduction!.hopSeconds).toBeCloseTo(2, 1);
    const spectrum = await bench.ask({ kind: 'stage spectrum', ...stage });
    expect(spectrum!.after.filter((db) => db !== null).length).toBeGreaterThan(20);
    const solved = await bench.ask({ kind: 'solve', targets: ['crestDb=max'], limits: [], withinDb: 1 });
    expect([...solved.solution.blends.keys()]).toEqual(['squeeze']);
    expect(solved.headline).not.toBe('');
  });

  it('sweeps along an axis, with marks; with none where a bus feeds others', async () => {
    const bench = await opened();
    const { rows, marks } = await bench.ask({ kind: 'sweep', axis: AXIS, section: null });
    expect(rows.map(({ blendDb }) => blendDb)).toEqual([-12, -6, 0]);
    expect(marks).not.toBeNull();
    bench.dispose();
    const feeding = await opened(chainedSong());
    const rendered = await feeding.ask({ kind: 'sweep', axis: AXIS, section: null });
    expect(rendered.rows.map(({ blendDb }) => blendDb)).toEqual([-12, -6, 0]);
    expect(rendered.marks).toBeNull();
  });

  it('has the overview of what it holds, from low to high over the whole song', async () => {
    const bench = await openedOnce();
    for (const side of ['rough', 'received', 'mix', 'without:bass'] as const) {
      const { min, max, secondsPerColumn } = bench.overview(side)!;
      expect(min.length, side).toBe(max.length);
      expect(min.every((low, n) => low <= max[n]!)).toBe(true);
      expect(Math.abs(min.length * secondsPerColumn - bench.view.seconds)).toBeLessThan(2 * secondsPerColumn);
    }
  });
});
