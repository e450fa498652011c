import { expect, it } from 'vitest';
import { setSampleRate } from '../../src/session/edits/edits.ts';
import type { BenchEngine } from '../../src/engine/bench-engine.ts';
import { opened } from './opened-engine.ts';
import { shortSong, until } from './short-song.ts';

const rateOfPlayer = (bench: BenchEngine): number | undefined =>
  (bench as unknown as { player: { audition: { sampleRate: number } | null } }).player.audition?.sampleRate;

it('a song that is put at another rate is what it is when it is opened at that rate, and plays on from where it was', async () => {
  const bench = await opened(shortSong());
  bench.seek(1.5);
  await bench.play();
  expect(rateOfPlayer(bench)).toBe(48_000);

  const song = setSampleRate(shortSong(), 44_100);
  bench.apply(song);
  const { guards } = bench.view.findings;
  const isNew = (): boolean => bench.view.findings.guards !== null && bench.view.findings.guards !== guards;
  await until(() => bench.view.state.phase === 'ready' && isNew(), 'measuring');
  expect(bench.view.playing).toBe(false);
  const place = bench.position();
  expect(place).toBeGreaterThanOrEqual(1.5);
  await bench.play();
  expect(rateOfPlayer(bench)).toBe(44_100);
  expect(bench.position()).toBeGreaterThanOrEqual(place - 0.001);
  bench.pause();

  const fresh = await opened(song);
  expect(bench.view.seconds).toBe(fresh.view.seconds);
  const figures = (each: BenchEngine) => [
    each.view.findings.mix!.integratedLufs,
    each.view.findings.mix!.truePeakDbtp,
    each.view.findings.rough!.integratedLufs,
    each.view.findings.received!.integratedLufs,
    ...[...each.view.findings.paths.values()].map(({ change }) => change?.integratedLufs ?? null),
    ...each.view.findings.guards!.map(({ value }) => value),
  ];
  expect(figures(bench)).toEqual(figures(fresh));
});
