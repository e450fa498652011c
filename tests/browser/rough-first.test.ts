import { afterEach, expect, it } from 'vitest';
import { FIRST_MONITOR_DB, type Audition } from '../../src/audition/audition.ts';
import { gainOf } from '../../src/audio/decibels.ts';
import { readWav } from '../../src/files/wav/wav-read.ts';
import { MIX, setSetting } from '../../src/session/chain/chain-edits.ts';
import { setRough } from '../../src/session/edits/edits.ts';
import { BenchEngine } from '../../src/engine/bench-engine.ts';
import { played } from './played.ts';
import { recorderOf } from './recorder.ts';
import { shortSong, shortSongFiles, until } from './short-song.ts';

let engine: BenchEngine | null = null;
afterEach(() => {
  engine?.dispose();
  engine = null;
});

const auditionOf = (bench: BenchEngine): Audition =>
  (bench as unknown as { player: { audition: Audition } }).player.audition;

/** Where in `whole`, around `near`, the samples of `part` stand: the shift with the smallest residual. */
const placeIn = (whole: Float32Array, part: Float32Array, near: number): number => {
  const residual = (at: number): number => part.reduce((sum, x, n) => sum + (x - (whole[at + n] ?? 0)) ** 2, 0);
  let best = near;
  for (let at = Math.max(0, near - 12_000); at < near + 12_000; at++) if (residual(at) < residual(best)) best = at;
  return best;
};

it('the rough plays before anything is rendered, and the mix joins it without a lost or changed sample', async () => {
  engine = new BenchEngine();
  const bench = engine;
  // What the mix bus looks ahead moves the rough along.
  const song = setSetting(shortSong(), MIX, 'c', 'lookAhead', 7);
  const files = shortSongFiles();
  await bench.open(song, files);
  bench.cancel();
  expect(bench.view.audible).toEqual(['rough']);

  bench.match(false);
  bench.hear('rough');
  await bench.play();
  expect(bench.view.playing).toBe(true);
  const audition = auditionOf(bench);
  const recorder = await recorderOf(audition);
  await played(audition, 0.3);
  const [from, near] = [recorder.now(), Math.round(bench.position() * 48_000)];
  bench.apply(song);
  await until(() => bench.view.audible.includes('mix'), 'the mix');
  await played(audition, 0.3);
  const { channels, fromFrame } = await recorder.until(recorder.now());

  const rough = readWav(new Uint8Array(await files.get('rough.wav')!.arrayBuffer()), 'rough.wav').channels[0]!;
  const asPlayed = rough.map((x) => x * gainOf(FIRST_MONITOR_DB));
  const heard = channels[0].subarray(from - fromFrame);
  const place = placeIn(asPlayed, heard.subarray(0, 256), near);
  const loudest = heard.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
  const off = heard.map((x, n) => Math.abs(x - (asPlayed[place + n] ?? 0)));
  // Fades of equal sounds add up to them again but for the rounding of 32 bit gains.
  expect(off.reduce((most, x) => Math.max(most, x), 0) / loudest).toBeLessThan(1e-5);
  expect(heard.length).toBeGreaterThan(24_000);
});

it('the rough can be heard while tracks are missing, and until it is taken out', async () => {
  engine = new BenchEngine();
  const bench = engine;
  const files = new Map(shortSongFiles());
  const bass = files.get('bass.wav')!;
  files.delete('bass.wav');
  await bench.open(shortSong(), files);
  expect(bench.view.missing).toEqual(['bass.wav']);
  expect(bench.view.audible).toEqual(['rough']);
  await until(() => bench.view.findings.rough !== null, 'the figures of the rough');

  bench.apply(setRough(shortSong(), null));
  await until(() => bench.view.audible.length === 0, 'silence');
  expect(bench.view.findings.rough).toBeNull();

  bench.apply(shortSong());
  await until(() => bench.view.audible.includes('rough'), 'the rough');
  await bench.addFiles(new Map([['bass.wav', bass]]));
  await until(() => bench.view.audible.includes('mix') && bench.view.audible.includes('received'), 'the mix');
});
