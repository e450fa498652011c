import { expect, test } from 'vitest';
import type { MeasuredFile } from '../../src/cli/measure-file.ts';
import { decodeMp3 } from '../../src/files/decode/decode-mp3.ts';
import { measure } from '../../src/measure/measure.ts';
import { run, runJson, Workplace } from './command.ts';
import { SECONDS, writeSession, writeSounds } from './song.ts';

interface PrintedFile extends MeasuredFile {
  readonly path: string;
  readonly kind: string;
  readonly bits: string;
}

interface PrintAnswer {
  readonly files: readonly PrintedFile[];
  readonly report: string;
  readonly recallSheet: string;
  readonly gainDb: number;
  readonly notes: readonly string[];
}

const place = new Workplace();
writeSounds(place);
const session = writeSession(place, 'song.json', { mixBus: { trimDb: -3, chain: [] } });

const print = async (...args: readonly string[]): Promise<PrintAnswer> =>
  (await runJson('print', session, '--force', ...args)) as PrintAnswer;

test('a print is the mix, a report, a recall sheet and a manifest', async () => {
  const { files, report, recallSheet, gainDb } = await print('--out', place.path('plain'));
  const texts = [
    'manifest.json',
    'recall sheet.html',
    'recall sheet.md',
    'report.html',
    'report.json',
    'report.md',
  ].map((name) => `Small song - ${name}`);
  expect(place.list('plain')).toEqual([...texts, 'Small song.wav']);
  expect(files.map(({ path, kind, bits, sampleRate }) => [path, kind, bits, sampleRate])).toEqual([
    [place.path('plain/Small song.wav'), 'main', '24', 48_000],
  ]);
  expect([report, recallSheet]).toEqual([
    place.path('plain/Small song - report.md'),
    place.path('plain/Small song - recall sheet.md'),
  ]);
  expect(gainDb).toBe(0);
});

test('the figures of a printed file are those of the file', async () => {
  for (const [bits, rate] of [
    ['16', '44100'],
    ['32f', '96000'],
  ] as const) {
    const { files } = await print('--out', place.path('figures'), '--bits', bits, '--rate', rate);
    const [measured] = (await runJson('measure', files[0]!.path)) as MeasuredFile[];
    const { path, kind, bits: written, ...figures } = files[0]!;
    expect([path, kind, written]).toEqual([measured!.file, 'main', bits]);
    expect(measured).toMatchObject({ ...figures, sampleRate: Number(rate) });
  }
});

test('the stems add up to the mix before the mix bus', async () => {
  const { files } = await print('--out', place.path('stems'), '--kinds', 'main,stems', '--bits', '32f');
  expect(files.map(({ kind }) => kind)).toEqual(['main', 'stems', 'stems', 'stems']);
  const sounds = files.map(({ path }) => place.readAudio(path.slice(place.folder.length + 1)).channels);
  const [main, ...stems] = sounds;
  let residual = 0;
  main!.forEach((channel, n) => {
    channel.forEach((x, i) => {
      const sum = stems.reduce((total, stem) => total + stem[n]![i]!, 0);
      residual = Math.max(residual, Math.abs(x - 10 ** (-3 / 20) * sum));
    });
  });
  expect(residual).toBeLessThan(1e-6);
});

test('only what is asked for is printed; a path that gives nothing has no stem', async () => {
  const quiet = writeSession(place, 'quiet.json', { buses: [{ id: 'double', name: 'Bass double', on: false }] });
  await run('print', quiet, '--out', place.path('only'), '--kinds', 'stems');
  expect(place.list('only').filter((name) => name.endsWith('.wav'))).toEqual([
    'Small song - Bass.wav',
    'Small song - Keys.wav',
  ]);
});

test('a target is met by gain alone, and the report says so', async () => {
  const { files, gainDb, notes, report } = await print('--out', place.path('target'), '--target', '-23');
  expect(files[0]!.integratedLufs).toBeCloseTo(-23, 2);
  expect(notes[0]).toBe(`The level of the mix was lowered by ${Math.abs(gainDb).toFixed(2)} dB to -23 LUFS.`);
  expect(place.readText(report.slice(place.folder.length + 1))).toContain(notes[0]);
});

test('where the ceiling would be crossed the mix stays short of the target, and nothing clips', async () => {
  const args = ['--target=-3', '--ceiling', '-2', '--bits', '16', '--json'];
  const { code, out } = await run('print', session, '--out', place.path('short'), ...args);
  const { files, notes, targetMet } = JSON.parse(out) as PrintAnswer & { targetMet: boolean };
  // Printed all the same; the exit code says that the target is missed.
  expect([code, targetMet, place.has('short/Small song.wav')]).toEqual([1, false, true]);
  expect(files[0]!.truePeakDbtp).toBeLessThanOrEqual(-2);
  expect(files[0]!.truePeakDbtp).toBeGreaterThan(-2.01);
  expect(files[0]!.integratedLufs).toBeLessThan(-3);
  expect(files[0]!.clippedSamples).toBe(0);
  expect(notes[0]).toContain('short of the target of -3 LUFS: more would cross the ceiling of -2 dBTP');
});

test('a ceiling alone only ever turns down', async () => {
  const low = await print('--out', place.path('ceiling'), '--ceiling', '-20');
  expect(low.files[0]!.truePeakDbtp).toBeLessThanOrEqual(-20);
  expect(low.notes[0]).toMatch(/was lowered by \d+\.\d\d dB to keep the ceiling of -20 dBTP/);
  const high = await print('--out', place.path('ceiling'), '--ceiling', '0');
  expect([high.gainDb, high.notes[0]]).toEqual([0, 'The level of the mix was not changed.']);
});

test('samples that clip in an integer print are told', async () => {
  const loud = writeSession(place, 'loud.json', { mixBus: { trimDb: 24, chain: [] } });
  const { notes, files } = (await runJson('print', loud, '--out', place.path('loud'), '--bits', '16')) as PrintAnswer;
  expect(notes.at(-1)).toMatch(
    /^\d+ samples of Small song\.wav exceeded full scale and were clipped; print as 32 bit float \(32f\)/,
  );
  expect(files[0]!.clippedSamples).toBeGreaterThan(0);
});

test('the report compares with the rough where there is one, else with the tracks as received', async () => {
  await print('--out', place.path('report'));
  const text = place.readText('report/Small song - report.md');
  expect(text).toContain('## The mix against the rough as received');
  const row = (name: string): number[] =>
    new RegExp(`\\| ${name} ((?:\\| *[-+]?[\\d.]+ *)+)`).exec(text)![1]!.split('|').slice(1).map(Number);
  const [before, after, change, matched] = row('Integrated loudness, LUFS');
  expect(change).toBeCloseTo(after! - before!, 0);
  expect(matched).toBe(0);
  // Turned down to equal loudness, a peak moves by as much: arithmetic.
  const peak = row('True peak, dBTP');
  expect(peak[3]).toBeCloseTo(peak[2]! - change!, 0);
  await run('print', writeSession(place, 'bare.json', { rough: null }), '--force', '--out', place.path('report'));
  expect(place.readText('report/Small song - report.md')).toContain('## The mix against the tracks as received');
});

test('the report lets the rough and the mix be heard at one loudness where that is asked for', async () => {
  await print('--out', place.path('heard'));
  expect(place.readText('heard/Small song - report.html')).not.toMatch(/<audio|<script/);
  await print('--out', place.path('heard'), '--report-sound');
  const page = place.readText('heard/Small song - report.html');
  const sides = [...page.matchAll(/<figcaption>([^<]*)<\/figcaption><audio[^>]*base64,([^"]*)"/g)];
  expect(sides.map(([, name]) => name)).toEqual(['rough as received', 'mix']);
  const levels: number[] = [];
  for (const [, name, mp3] of sides) {
    const sound = await decodeMp3(Buffer.from(mp3!, 'base64'), name!);
    levels.push(measure(sound).integratedLufs!);
  }
  // Of noise the encoder leaves out what lies above 18 kHz and what is masked.
  expect(Math.abs(levels[0]! - levels[1]!)).toBeLessThan(0.3);
  expect(page).toMatch(/all at \u2212\d+\.\d LUFS/);
});

test('the recall sheet tells every level, send and setting', async () => {
  const full = writeSession(place, 'full.json', {
    buses: [
      {
        id: 'double',
        name: 'Bass double',
        key: 'keys',
        blendDb: -7.5,
        chain: [
          { processor: 'compressor', settings: { threshold: -31, ratio: 4, sideChain: 'external' } },
          { processor: 'eq', on: false, settings: { 'band3.on': true, 'band3.gain': 2.5 } },
          { processor: 'delay', settings: { time: '1/8 dotted', mix: 100 } },
        ],
      },
    ],
  });
  await run('print', full, '--out', place.path('recall'));
  const text = place.readText('recall/Small song - recall sheet.md');
  for (const words of [
    'Blend -7.5 dB; key from Keys.',
    'Fader 0.0 dB; sends to Bass double at 0.0 dB, post-fader.',
    'threshold -31.0 dB, ratio 4.0:1, knee 6.0 dB, attack 10.00 ms',
    'side-chain external',
    '2. EQ (bypassed)',
    'Band 3: shape bell, frequency 250 Hz, gain 2.5 dB',
    'time 1/8 dotted',
    'Trim 0.0 dB.',
  ]) {
    expect(text).toContain(words);
  }
  expect(text).not.toContain('Band 4');
});

test('the readable answer lists what was written and what was done to the level', async () => {
  const { out, err } = await run('print', session, '--out', place.path('words'), '--target', '-20');
  expect(err).toBe('');
  expect(out).toContain(`${place.path('words/Small song.wav')}: 24 bit, 48000 Hz\n`);
  expect(out).toMatch(/^The level of the mix was (raised|lowered) by \d+\.\d\d dB to -20 LUFS\.$/m);
});

test('instrumental and voices are the mix without the voice groups and with them alone, at the level of the mix', async () => {
  const sung = writeSession(place, 'sung.json', {
    groups: [
      { id: 'band', name: 'Band', sends: [{ to: 'squeeze' }] },
      { id: 'singer', name: 'Singer', vocal: true, sends: [{ to: 'squeeze' }] },
    ],
    tracks: [
      { id: 'drums', name: 'Drums', file: 'keys.wav', group: 'band' },
      { id: 'voice', name: 'Voice', file: 'bass.wav', group: 'singer' },
    ],
    buses: [{ id: 'squeeze', name: 'Squeeze', blendDb: -6 }],
  });
  const args = [
    '--out',
    place.path('sung'),
    '--bits',
    '32f',
    '--kinds',
    'main,instrumental,a-cappella',
    '--ceiling',
    '-6',
  ];
  const { files } = (await runJson('print', sung, ...args)) as PrintAnswer;
  expect(files.map(({ kind }) => kind)).toEqual(['main', 'instrumental', 'a-cappella']);
  const [main, instrumental, voices] = files.map(
    ({ path }) => place.readAudio(path.slice(place.folder.length + 1)).channels[0]!,
  );
  // Everything in this session is linear, so the two add up to the mix.
  const residual = main!.reduce((worst, x, n) => Math.max(worst, Math.abs(x - instrumental![n]! - voices![n]!)), 0);
  expect(residual).toBeLessThan(1e-6);
  expect(instrumental!.some((x) => x > 0.01)).toBe(true);
  expect(voices!.some((x) => x > 0.01)).toBe(true);
});

test('a session without voices has no instrumental, and says so', async () => {
  const { code, err } = await run('print', session, '--out', place.path('none'), '--kinds', 'instrumental');
  expect(code).toBe(2);
  expect(err).toMatch(/"vocal": true/);
  expect(place.list()).not.toContain('none');
});

test('a print never takes the place of a file that it is made of', async () => {
  const own = writeSession(place, 'own.json', { title: 'keys', mixBus: { trimDb: 0, chain: [] } });
  const before = place.readAudio('keys.wav').channels[0]!;
  const { code, err } = await run('print', own, '--out', place.folder);
  expect([code, err]).toEqual([2, expect.stringMatching(/keys\.wav cannot be written/) as unknown]);
  expect(place.readAudio('keys.wav').channels[0]).toEqual(before);
  const over = await run('chain', place.path('keys.wav'), '--preset', 'drum squeeze', '--out', place.path('keys.wav'));
  expect(over.code).toBe(2);
});

test('prints that are there are not written over unless that is asked for', async () => {
  await print('--out', place.path('kept'));
  const { code, err } = await run('print', session, '--out', place.path('kept'), '--bits', '16');
  expect([code, err]).toEqual([2, expect.stringContaining('--force to replace what is there') as unknown]);
  expect((await print('--out', place.path('kept'), '--bits', '16')).files[0]).toMatchObject({ bits: '16' });
});

test('stems take the gain of the mix where that is asked for, and that is said', async () => {
  const kinds = ['--kinds', 'main,stems', '--bits', '32f'];
  const plain = await print('--out', place.path('gain'), ...kinds, '--target', '-30');
  const taken = await print('--out', place.path('gain'), ...kinds, '--target', '-30', '--stems-take-gain');
  // Both are measured from 32 bit floats.
  expect(taken.files[1]!.integratedLufs! - plain.files[1]!.integratedLufs!).toBeCloseTo(plain.gainDb, 4);
  expect(taken.notes.join()).toContain('with the gain of the main print');
});

test('all prints of a song are equally long', async () => {
  const tails = writeSession(place, 'tails.json', {
    groups: [
      { id: 'bass', name: 'Voice', vocal: true, sends: [{ to: 'double' }] },
      { id: 'keys', name: 'Keys' },
    ],
    buses: [
      { id: 'double', name: 'Plate', blendDb: 0, chain: [{ processor: 'reverb', settings: { mix: 100, decay: 1 } }] },
    ],
  });
  const args = ['--out', place.path('tails'), '--kinds', 'main,instrumental,a-cappella,stems'];
  const { files } = (await runJson('print', tails, ...args)) as PrintAnswer;
  const lengths = files.map(({ path }) => place.readAudio(path.slice(place.folder.length + 1)).channels[0]!.length);
  expect(new Set(lengths).size).toBe(1);
  // The plate rings on behind the song.
  expect(lengths[0]).toBeGreaterThan((SECONDS + 0.2) * 48_000);
});

test('report and answer tell which guards the mix and the print break, the rough, the paths and the date', async () => {
  const strict = writeSession(place, 'strict.json', { guards: [{ guard: 'true-peak ceiling', limit: -30 }] });
  const { out } = await run('print', strict, '--out', place.path('strict'), '--json');
  const { guards } = JSON.parse(out) as { guards: Record<'before' | 'after', { name: string; pass: boolean }[]> };
  for (const when of ['before', 'after'] as const)
    expect(guards[when].find(({ name }) => name === 'true-peak ceiling')).toMatchObject({ pass: false });
  const text = place.readText('strict/Small song - report.md');
  expect(text).toMatch(/True-peak ceiling is .* outside the limit of at most -30\.0 dBTP\./);
  expect(text).toContain('Rough: rough.wav.');
  expect(text).toMatch(/^\| Bass double \| bus \| 0\.0 \| /m);
  expect(text).toMatch(/^Printed \d{4}-\d\d-\d\d \d\d:\d\d UTC$/m);
});

test('MP3 copies stand beside all but stems, at the loudness of what they are copies of, and are in the manifest', async () => {
  const out = place.path('copies');
  const { files } = await print('--out', out, '--kinds', 'main,stems', '--mp3', '192');
  const copies = files.filter(({ bits }) => bits === 'MP3 192');
  expect(copies.map(({ kind }) => kind)).toEqual(['main']);
  const [main] = files as unknown as readonly { integratedLufs: number; truePeakDbtp: number }[];
  const [copy] = copies as unknown as readonly { path: string; integratedLufs: number }[];
  // Of noise the encoder leaves out what lies above 18 kHz and what is masked.
  expect(Math.abs(copy!.integratedLufs - main!.integratedLufs)).toBeLessThan(0.3);
  const { code, out: told } = await run('verify', out);
  expect([code, told]).toEqual([0, expect.stringContaining('.mp3: as printed')]);
});
