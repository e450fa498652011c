import { describe, expect, it } from 'vitest';
import type { Audition } from '../../src/audition/audition.ts';
import { loudnessOf } from '../../src/measure/loudness/loudness.ts';
import { weightedEnergyOf } from '../../src/measure/loudness/weighted-energy.ts';
import { setRough } from '../../src/session/edits/edits.ts';
import type { BenchEngine } from '../../src/engine/bench-engine.ts';
import type { Heard } from '../../src/engine/engine.ts';
import { opened } from './opened-engine.ts';
import { played } from './played.ts';
import { recorderOf } from './recorder.ts';
import { RATE, shortSong, until } from './short-song.ts';

/** A round of the bursts of the drums. */
const LOOP = { startSeconds: 2, endSeconds: 2.5 };

const auditionOf = (bench: BenchEngine): Audition =>
  (bench as unknown as { player: { audition: Audition } }).player.audition;

const lufs = (channels: readonly Float32Array[]): number =>
  loudnessOf(weightedEnergyOf({ sampleRate: RATE, channels })).integrated!;

/** Loudness of each side as it comes out, over one whole round of the loop, LUFS; heard one after the other. */
const recordedOf = async (bench: BenchEngine, sides: readonly Heard[]): Promise<readonly number[]> => {
  bench.seek(LOOP.startSeconds);
  await bench.play();
  const audition = auditionOf(bench);
  const recorder = await recorderOf(audition);
  const started = recorder.now() - Math.round((bench.position() - LOOP.startSeconds) * RATE);
  const length = (LOOP.endSeconds - LOOP.startSeconds) * RATE;
  const heard: number[] = [];
  for (const side of sides) {
    bench.hear(side);
    await played(audition, 0.4);
    // The first whole round of the loop that is heard on this side alone.
    const round = Math.ceil((recorder.now() - started) / length);
    const { channels, fromFrame } = await recorder.until(started + (round + 1) * length);
    const from = started + round * length - fromFrame;
    heard.push(lufs(channels.map((channel) => channel.subarray(from, from + length))));
  }
  return heard;
};

const SIDES: readonly Heard[] = ['rough', 'received', 'mix', 'without:drums', 'without:squeeze', 'pass:gentle'];

describe('matched listening, recorded in the browser', () => {
  it('brings every side over the section in loop to one loudness, within 0.05 LU', async () => {
    const bench = await opened(shortSong());
    bench.loop(LOOP);
    bench.compare(SIDES);
    const settled = (): boolean =>
      bench.view.matchedLufs !== null &&
      bench.view.comparison.unsettled.size === 0 &&
      SIDES.every((side) => bench.view.audible.includes(side));
    await until(settled, 'a level for every side');
    const { levels } = bench.view.comparison;
    const quietest = Math.min(...SIDES.map((side) => levels.get(side)!));
    // Where all were at a loudness little below it before, they stay there.
    expect(bench.view.matchedLufs).toBeLessThanOrEqual(quietest);
    expect(bench.view.matchedLufs).toBeGreaterThanOrEqual(quietest - 2);
    const all = await recordedOf(bench, SIDES);
    expect(Math.max(...all) - Math.min(...all)).toBeLessThan(0.05);
  });

  it('knows every mix without a path before it is chosen, so that the first flip to one is matched too', async () => {
    // The rough is quieter than all of them: without it one of them is the quietest.
    const bench = await opened(setRough(shortSong(), null));
    const flips: readonly Heard[] = ['without:drums', 'without:bass', 'without:squeeze'];
    bench.loop(LOOP);
    bench.compare(['received', 'mix']);
    const known = (): boolean =>
      bench.view.matchedLufs !== null && flips.every((side) => bench.view.comparison.levels.has(side));
    await until(known, 'a level for every mix without a path');
    await until(() => bench.view.comparison.unsettled.size === 0, 'measuring in the background');
    const { matchedLufs } = bench.view;
    const quietest = Math.min(...flips.map((side) => bench.view.comparison.levels.get(side)!));
    expect(matchedLufs).toBeLessThanOrEqual(quietest);
    expect(matchedLufs).toBeGreaterThanOrEqual(quietest - 2);
    const all = await recordedOf(bench, ['mix', ...flips]);
    expect(bench.view.matchedLufs).toBe(matchedLufs);
    expect(Math.max(...all) - Math.min(...all)).toBeLessThan(0.05);
  });
});
