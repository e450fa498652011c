import { expect, it } from 'vitest';
import { onBothSides, type Audio } from '../../src/audio/audio.ts';
import { readWav } from '../../src/files/wav/wav-read.ts';
import { measure } from '../../src/measure/measure.ts';
import { renderChain } from '../../src/render/chain-render.ts';
import { changeTrack, setTempo, setTrim } from '../../src/session/edits/edits.ts';
import { deletePass, restorePass } from '../../src/session/passes/passes.ts';
import { stepsOf } from '../../src/session/values.ts';
import { opened } from './opened-engine.ts';
import { shortSong, shortSongFiles, until } from './short-song.ts';

const PASS = 'pass:gentle';

it('a pass is rendered only when it is compared, and measures as the mix does once it is taken back', async () => {
  const bench = await opened(shortSong());
  expect(bench.view.audible).not.toContain(PASS);
  expect(bench.view.comparison.preparing.size).toBe(0);
  bench.compare([PASS]);
  await until(() => bench.view.comparison.preparing.size > 0, 'the begin of a print');
  expect([...bench.view.comparison.preparing.keys()]).toEqual(['gentle']);
  await until(() => bench.view.audible.includes(PASS), 'a print');
  const level = bench.view.comparison.levels.get(PASS)!;
  expect(bench.view.comparison.preparing.size).toBe(0);
  expect(Math.abs(level - bench.view.findings.mix!.integratedLufs!)).toBeGreaterThan(0.5);
  const before = bench.view.findings.mix;
  bench.apply(restorePass(shortSong(), 'gentle'));
  await until(() => bench.view.findings.mix !== before, 'the mix taken back');
  // Sums on their way to the mix bus are single precision in one and double in the other.
  expect(Math.abs(bench.view.findings.mix!.integratedLufs! - level)).toBeLessThan(1e-4);
});

it('a pass that is no longer compared is not rendered to its end, and begins anew when it is', async () => {
  const bench = await opened(shortSong());
  bench.compare([PASS]);
  await until(() => bench.view.comparison.preparing.size > 0, 'the begin of a print');
  bench.compare([]);
  await until(() => bench.view.comparison.preparing.size === 0, 'its end');
  await new Promise((resolve) => setTimeout(resolve, 300));
  expect(bench.view.audible).not.toContain(PASS);
  bench.compare([PASS]);
  await until(() => bench.view.audible.includes(PASS), 'a print');
  expect(bench.view.comparison.faults.size).toBe(0);
});

it('a pass whose file is not in hand says so, and can be heard once the file is added', async () => {
  const files = new Map(shortSongFiles());
  const song = shortSong();
  const kit = files.get('drums.wav')!;
  const moved = changeTrack(song, 'kit', { file: 'new-drums.wav' });
  files.delete('drums.wav');
  files.set('new-drums.wav', kit);
  const bench = await opened(moved, files);
  expect(bench.view.missing).toEqual([]);
  bench.compare([PASS]);
  await until(() => bench.view.comparison.faults.size > 0, 'the reason');
  expect(bench.view.comparison.faults.get('gentle')).toBe(
    'The pass "Gentle" cannot be heard: it needs drums.wav, which is missing: add that file.',
  );
  await bench.addFiles(new Map([['drums.wav', kit]]));
  await until(() => bench.view.audible.includes(PASS), 'a print');
  expect(bench.view.comparison.faults.size).toBe(0);
});

it('an edit that does not change a pass keeps its print; a deleted pass is let go', async () => {
  const bench = await opened(shortSong());
  bench.compare([PASS]);
  await until(() => bench.view.audible.includes(PASS), 'a print');
  const preparing = new Set<number>();
  bench.listen(() => preparing.add(bench.view.comparison.preparing.size));
  bench.apply(setTempo(shortSong(), 90));
  await until(() => bench.view.isMeasured, 'measuring');
  expect([...preparing]).toEqual([0]);
  expect(bench.view.audible).toContain(PASS);
  bench.apply(deletePass(shortSong(), 'gentle'));
  await until(() => !bench.view.audible.includes(PASS), 'its end');
  expect(bench.view.comparison.levels.has(PASS)).toBe(false);
});

it('the rough through the mix bus is the rough, trimmed and run through its chain, and follows the mix bus', async () => {
  const song = shortSong();
  const bench = await opened(song);
  const side = 'pass:rough-through-mix-bus';
  bench.compare([side]);
  await until(() => bench.view.audible.includes(side), 'its print');
  const rough = await shortSongFiles().get('rough.wav')!.arrayBuffer();
  const steps = stepsOf(song.mixBus.chain, song.tempo, song.meter);
  const trimmed = (audio: Audio, gain: number): Audio => ({
    ...audio,
    channels: audio.channels.map((channel) => channel.map((x) => gain * x)),
  });
  const heard = onBothSides(readWav(new Uint8Array(rough), 'rough.wav'));
  const wanted = measure(renderChain(trimmed(heard, 10 ** (-4 / 20)), steps, null)).integratedLufs!;
  expect(bench.view.comparison.levels.get(side)).toBeCloseTo(wanted, 2);
  bench.apply(setTrim(song, -40));
  const isQuieter = (): boolean => (bench.view.comparison.levels.get(side) ?? 0) < wanted - 20;
  await until(isQuieter, 'its print with the new trim');
});
