import { describe, expect, test } from 'vitest';
import type { MeasuredFile } from '../../src/cli/measure-file.ts';
import { FIGURE_KEYS } from '../../src/measure/definitions/definitions.ts';
import { DETAIL_DEFINITIONS } from '../../src/measure/definitions/detail-definitions.ts';
import { measure } from '../../src/measure/measure.ts';
import { joined, mono, sine, silence, stereo, pinkNoise } from '../helpers/signals.ts';
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
    ...['clippedSamples', 'stereo', 'bands', 'reasons', 'notes'],
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
  const { code, out, err } = await run('measure', tone);
  expect([code, err]).toEqual([0, '']);
  expect(out).toContain(`${tone}: 48000 Hz, 1 channel, 10.00 s\n`);
  expect(out).toMatch(/^Integrated loudness +-3\.0 {2}LUFS$/m);
  expect(out).toMatch(/^Correlation +- +\(one channel\)$/m);
  expect(out).not.toContain('Third octave');
});

test('several files stand side by side', async () => {
  const { out } = await run('measure', tone, nothing);
  expect(out).toContain(`${nothing}: 48000 Hz, 2 channels, 1.00 s\n`);
  expect(out).toMatch(/^ +tone\.wav +nothing\.wav$/m);
  expect(out).toMatch(/^Integrated loudness +-3\.0 +- {2}LUFS +\(silence\)$/m);
});

test('a file measured piece by piece has the figures of one measured in memory', async () => {
  const long = stereo(pinkNoise(8, 3), pinkNoise(8, 4));
  const [measured] = (await runJson('measure', place.writeAudio('long.wav', long))) as MeasuredFile[];
  expect(measured).toMatchObject(measure(long));
});

describe('sections', () => {
  const parts = place.writeAudio(
    'parts.wav',
    mono(joined(sine({ hz: 997, seconds: 4, db: -20 }), sine({ hz: 997, seconds: 4 }))),
  );

  test('have figures of their own, beside those of the whole', async () => {
    const [measured] = (await runJson('measure', parts, '--sections', 'verse:0-4,chorus:0:04-0:08')) as MeasuredFile[];
    const [verse, chorus] = measured!.sections!;
    expect([verse!.name, verse!.startSeconds, verse!.endSeconds]).toEqual(['verse', 0, 4]);
    expect(verse!.integratedLufs!).toBeCloseTo(-23.01, 1);
    expect(chorus!.integratedLufs!).toBeCloseTo(-3.01, 1);
    const { out } = await run('measure', parts, '--sections', 'verse:0-4,chorus:4-8');
    expect(out).toMatch(/^ +whole +verse +chorus$/m);
    expect(out).toMatch(/^Integrated loudness +-\d+\.\d +-23\.0 +-3\.0 {2}LUFS$/m);
  });

  test('tell where their true peak is in the file', async () => {
    const quiet = sine({ hz: 997, seconds: 8, db: -40 });
    quiet[6.25 * 48_000] = 0.9;
    const file = place.writeAudio('click.wav', mono(quiet));
    const list = 'verse:0-4,chorus:4-8';
    const [measured] = (await runJson('measure', file, '--details', '--sections', list)) as MeasuredFile[];
    const [verse, chorus] = measured!.sections!;
    expect(chorus!.details!.truePeakSeconds).toBeCloseTo(6.25, 3);
    expect(measured!.details!.truePeakSeconds).toBeCloseTo(6.25, 3);
    expect(verse!.details!.truePeakSeconds).toBeLessThan(4);
  });

  test('come from a session file too', async () => {
    const sections = [{ name: 'end', startSeconds: 5, endSeconds: 8 }];
    const head = { format: 'tributary-session', version: 4, title: 'Song', sampleRate: 48_000 };
    const path = place.write('song.json', JSON.stringify({ ...head, sections, tracks: [], groups: [] }));
    const [measured] = (await runJson('measure', parts, '--sections', path)) as MeasuredFile[];
    expect(measured!.sections!.map(({ name }) => name)).toEqual(['end']);
  });

  test.each([
    ['verse:4-2', /^--sections .+"verse:4-2"/],
    ['verse:1-x', /^--sections .+"verse:1-x"/],
    ['verse:20-30', /parts\.wav.+section "verse" to begin within its 8\.00 s.+20 s/],
  ])('%s is refused in one sentence', async (sections, sentence) => {
    const { code, out, err } = await run('measure', parts, '--sections', sections);
    expect([code, out]).toEqual([2, '']);
    expect(err).toMatch(sentence);
  });
});

test('details come when asked for, in both answers', async () => {
  const [measured] = (await runJson('measure', noise, '--details')) as MeasuredFile[];
  expect(Object.keys(measured!.details!)).toEqual(Object.keys(DETAIL_DEFINITIONS));
  const { out } = await run('measure', noise, '--details');
  expect(out).toMatch(/^Spectral slope +-3\.0\d {2}dB\/oct$/m);
});

test('the series has a line every 10 ms, with nothing where there is no value', async () => {
  const csv = place.path('series.csv');
  expect((await run('measure', tone, '--series', csv)).code).toBe(0);
  const lines = place.readText('series.csv').trimEnd().split('\n');
  expect(lines[0]).toBe('seconds,momentaryLufs,shortTermLufs,correlation,sideToMidDb,truePeakDbtp,psrDb');
  expect(lines.length).toBe(1001);
  expect(lines[1]).toMatch(/^0\.01,,,,,-?\d\.\d{3},$/);
  expect(lines[1000]).toMatch(/^10\.00,-3\.0\d\d,-3\.0\d\d,,,-?0\.0\d\d,3\.0\d\d$/);
  expect((await run('measure', tone, noise, '--series', csv)).err).toMatch(/^--series .+one file to measure.+2 files/);
  expect((await run('measure', tone, '--series', tone)).code).toBe(2);
});

test('loudness alone has every key, and says of what it leaves out that nobody asked', async () => {
  const [all] = (await runJson('measure', noise)) as MeasuredFile[];
  const [only] = (await runJson('measure', noise, '--only', 'loudness')) as MeasuredFile[];
  const names = ['correlation', 'sideToMidDb', 'balanceDb', 'monoLossLu'];
  const left = [...names.map((name) => `stereo.${name}`), 'bands.levelDb', 'bands.sideToMidDb'];
  expect(only).toEqual({
    ...all,
    stereo: Object.fromEntries(names.map((name) => [name, null])),
    bands: all!.bands.map(({ hz }) => ({ hz, levelDb: null, sideToMidDb: null })),
    reasons: Object.fromEntries(left.map((key) => [key, 'not asked for'])),
  });
  expect((await run('measure', noise, '--only', 'loudness', '--details')).err).toMatch(/^--only .+--details/);
  expect((await run('measure', noise, '--only', 'peaks')).err).toMatch(/^--only .+loudness.+"peaks"/);
});

test('a loudness range of less than a minute is marked as unsettled, a longer one is not', async () => {
  const minute = place.writeAudio('minute.wav', mono(pinkNoise(61, 5, 0.1, 8000), 8000));
  const [short, long] = (await runJson('measure', noise, minute)) as MeasuredFile[];
  expect(short!.notes).toEqual({ loudnessRangeLu: 'unsettled: less than a minute' });
  expect(long!.notes).toEqual({});
  const { out } = await run('measure', noise);
  expect(out).toMatch(/^LRA +\d\.\d {2}LU +\(unsettled: less than a minute\)$/m);
});

test('definitions are told without a file, in both answers', async () => {
  const { Figures, Details, ...more } = (await runJson('measure', '--definitions')) as Record<
    string,
    { name: string }[]
  >;
  expect(Figures!.map(({ name }) => name)).toEqual(FIGURE_KEYS);
  expect(Details!.map(({ name }) => name)).toEqual(Object.keys(DETAIL_DEFINITIONS));
  expect(Object.keys(more)).toEqual(['Over time', 'Two sounds', 'Paths']);
  const { code, out } = await run('measure', '--definitions');
  expect(code).toBe(0);
  expect(out).toMatch(/^Integrated loudness, LUFS \(integratedLufs\)\n {2}.+\n {2}Source: ITU-R BS.1770-5/m);
});

test('without files nothing is measured, and that is said', async () => {
  expect(await run('measure')).toMatchObject({
    code: 2,
    out: '',
    err: expect.stringMatching(/^measure .+files.+none/) as unknown,
  });
});

test('the third octaves come when asked for', async () => {
  const { out } = await run('measure', noise, '--bands');
  expect(out).toMatch(/^Third octave +level dB +side to mid dB$/m);
  expect(out).toMatch(/^1 kHz +-\d/m);
  expect(out).toMatch(/^12\.6 kHz +-\d/m);
});
