import { afterAll, beforeAll, onTestFinished } from 'vitest';
import type { Session } from '../../src/session/schema.ts';
import { BenchEngine } from '../../src/engine/bench-engine.ts';
import type { AudioFiles } from '../../src/engine/engine.ts';
import { shortSong, shortSongFiles, until } from './short-song.ts';

/** The short song, its bus feeding a second one from behind its blend; the second drives what comes in. */
export const chainedSong = (): Session => {
  const song = shortSong();
  const [squeeze] = song.buses;
  const grit = { ...squeeze!, id: 'grit', name: 'Grit', blendDb: -10 };
  const sends = [{ to: 'grit', levelDb: 0, tap: 'post-fader' as const, on: true }];
  return { ...song, passes: [], buses: [{ ...squeeze!, sends }, grit] };
};

/** The real engine with a song in hand, rendered and measured; gone after the test. */
export const opened = async (song: Session, files: AudioFiles = shortSongFiles()): Promise<BenchEngine> => {
  const bench = new BenchEngine();
  onTestFinished(() => bench.dispose());
  await measured(bench, song, files);
  return bench;
};

/** The same, opened once for those tests of a file that only ask. */
export const openedForAll = (song: Session): (() => BenchEngine) => {
  const bench = new BenchEngine();
  beforeAll(() => measured(bench, song, shortSongFiles()));
  afterAll(() => bench.dispose());
  return () => bench;
};

const measured = async (bench: BenchEngine, song: Session, files: AudioFiles): Promise<void> => {
  await bench.open(song, files);
  await until(() => bench.view.findings.guards !== null, 'measuring');
};
