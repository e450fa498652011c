import { expect, test } from 'vitest';
import type { MeasuredFile } from '../../src/cli/measure-file.ts';
import { mono, sine, silence, stereo, pinkNoise } from '../helpers/signals.ts';
import { run, runJson, Workplace } from './command.ts';

const place = new Workplace();
const tone = place.writeAudio('tone.wav', mono(sine({ hz: 997, seconds: 10 })));
const noise = place.writeAudio('noise.wav', stereo(pinkNoise(4, 1), pinkNoise(4, 2), 48000));
const nothing = place.writeAudio('nothing.wav', stereo(silence(1)));

test('every file gets one object with all its figures, in the order given', async () => {
  const all = (await runJson('measure', tone, noise, nothing)) as MeasuredFile[];
  expect(all.map(({ file }) => file)).toEqual([tone, noise, nothing]);
  const keys = [
    ...['file', 'sampleRate', 'channels', 'seconds', 'integratedLufs', 'loudnessRangeLu', 'maxMomentaryLufs'],
    ...['maxShortTermLufs', 'truePeakDbtp', 'samplePeakDbfs', 'rmsDbfs', 'crestDb', 'plrDb', 'dcOffset'],
    ...['clippedSamples', 'stereo', 'bands', 'reasons'],
  ];
  for (const each of all) {
    expect(Object.keys(each)).toEqual(keys);
    expect(Object.keys(each.stereo)).toEqual(['correlation', 'sideToMidDb', 'balanceDb', 'monoLossLu']);
    for (const band of each.bands) expect(Object.keys(band)).toEqual(['hz', 'levelDb', 'sideToMidDb']);
  }
});

test('a full-scale sine of 997 Hz in one channel reads -3.01 LUFS (ITU-R BS.1770-5, Annex 1)', async () => {
  const [measured] = (await runJson('measure', tone)) as MeasuredFile[];
  expect(measured!.integratedLufs).toBeCloseTo(-3.01, 2);
  expect(measured).toMatchObject({ sampleRate: 48_000, channels: 1, seconds: 10 });
});

test('a figure that does not exist is null in JSON, and its reason is told', async () => {
  const { out } = await run('measure', nothing, '--json');
  expect(out).not.toMatch(/NaN|Infinity/);
  const [measured] = JSON.parse(out) as MeasuredFile[];
  expect(measured).toMatchObject({ integratedLufs: null, truePeakDbtp: null, reasons: { integratedLufs: 'silence' } });
});

test('the readable answer names the file and gives each figure with its unit', async () => {
  const { code, out, err } = await run('measure', tone, nothing);
  expect([code, err]).toEqual([0, '']);
  expect(out).toContain(`${tone}: 48000 Hz, 1 channel, 10.00 s\n`);
  expect(out).toMatch(/^Integrated loudness +-3\.0 {2}LUFS$/m);
  expect(out).toMatch(/^Integrated loudness +- {2}LUFS +\(silence\)$/m);
  expect(out).toMatch(/^Correlation +- +\(one channel\)$/m);
  expect(out).not.toContain('Third octave');
});

test('the third octaves come when asked for', async () => {
  const { out } = await run('measure', noise, '--bands');
  expect(out).toMatch(/^Third octave +level dB +side to mid dB$/m);
  expect(out).toMatch(/^1 kHz +-\d/m);
  expect(out).toMatch(/^12\.6 kHz +-\d/m);
});
