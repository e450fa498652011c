import { afterEach, expect, it } from 'vitest';
import { BenchEngine } from '../../src/engine/bench-engine.ts';
import { readWav } from '../../src/files/wav-read.ts';
import { writeWav } from '../../src/files/wav-write.ts';
import type { AudioFiles } from '../../src/engine/engine.ts';
import { setBlend } from '../../src/session/edits.ts';
import { played } from './played.ts';
import { shortSong, shortSongFiles, until } from './short-song.ts';
import type { Audition } from '../../src/audition/audition.ts';
import type { EngineView } from '../../src/engine/engine.ts';

let engine: BenchEngine | null = null;
afterEach(() => {
  engine?.dispose();
  engine = null;
});

/** The short song played several times over, so that rendering it takes its time. */
const longerFiles = async (): Promise<AudioFiles> => {
  const files = await Promise.all(
    [...shortSongFiles()].map(async ([path, file]) => {
      const { sampleRate, channels } = readWav(new Uint8Array(await file.arrayBuffer()), path);
      const again = channels.map((channel) => {
        const long = new Float32Array(4 * channel.length);
        for (let round = 0; round < 4; round++) long.set(channel, round * channel.length);
        return long;
      });
      return [path, new Blob([writeWav({ sampleRate, channels: again }, '32f').bytes])] as const;
    }),
  );
  return new Map(files);
};

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
