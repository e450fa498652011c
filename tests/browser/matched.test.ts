import { afterEach, describe, expect, it } from 'vitest';
import type { Audition } from '../../src/audition/audition.ts';
import { loudnessOf } from '../../src/measure/loudness.ts';
import { weightedEnergyOf } from '../../src/measure/weighted-energy.ts';
import { BenchEngine } from '../../src/ui/engine/bench-engine.ts';
import type { Heard } from '../../src/ui/engine/engine.ts';
import { played } from './played.ts';
import { recorderOf } from './recorder.ts';
import { RATE, shortSong, shortSongFiles, until } from './short-song.ts';

const LOOP = { startSeconds: 2, endSeconds: 4 };

let engine: BenchEngine | null = null;
afterEach(() => {
  engine?.dispose();
  engine = null;
});

const opened = async (): Promise<BenchEngine> => {
  engine = new BenchEngine();
  await engine.open(shortSong(), shortSongFiles());
  return engine;
};

const auditionOf = (bench: BenchEngine): Audition =>
  (bench as unknown as { player: { audition: Audition } }).player.audition;

const lufs = (channels: readonly Float32Array[]): number =>
  loudnessOf(weightedEnergyOf({ sampleRate: RATE, channels })).integrated!;

const SIDES: readonly Heard[] = ['rough', 'received', 'mix', 'without:drums', 'without:squeeze', 'pass:gentle'];

describe('matched listening, recorded in the browser', () => {
  it('brings every side over the section in loop to one loudness, within 0.05 LU', async () => {
    const bench = await opened();
    await until(() => bench.view.matchedLufs !== null, 'matching');
    bench.loop(LOOP);
    bench.compare(SIDES);
    const settled = (): boolean =>
      bench.view.matchedLufs !== null &&
      bench.view.comparison.unsettled.size === 0 &&
      SIDES.every((side) => bench.view.audible.includes(side));
    await until(settled, 'a level for every side');
    const { levels } = bench.view.comparison;
    expect(bench.view.matchedLufs).toBe(Math.min(...SIDES.map((side) => levels.get(side)!)));

    bench.seek(LOOP.startSeconds);
    await bench.play();
    const audition = auditionOf(bench);
    const recorder = await recorderOf(audition);
    const started = recorder.now() - Math.round((bench.position() - LOOP.startSeconds) * RATE);
    const length = (LOOP.endSeconds - LOOP.startSeconds) * RATE;
    const heard = new Map<Heard, number>();
    for (const side of SIDES) {
      bench.hear(side);
      await played(audition, 0.4);
      // The first whole round of the loop that is heard on this side alone.
      const round = Math.ceil((recorder.now() - started) / length);
      const { channels, fromFrame } = await recorder.until(started + (round + 1) * length);
      const from = started + round * length - fromFrame;
      heard.set(side, lufs(channels.map((channel) => channel.subarray(from, from + length))));
    }
    const all = [...heard.values()];
    expect(Math.max(...all) - Math.min(...all)).toBeLessThan(0.05);
  });
});
