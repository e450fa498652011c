import { mkdirSync, writeFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import { chance, multitrack, RATE } from '../intake/multitrack.ts';
import { delayed, singles, sumOf, type Place } from '../intake/rough-of.ts';
import { run, runJson, Workplace } from './command.ts';

interface IntakeAnswer {
  readonly session: string;
  readonly files: readonly {
    readonly file: string;
    readonly integratedLufs: number;
    readonly group: string;
    readonly startSeconds: number;
    readonly warnings: readonly { readonly code: string; readonly message: string; readonly todo: string }[];
  }[];
  readonly rough: {
    readonly residualDb: number;
    readonly lagSamples: number;
    readonly gainDb: number;
    readonly polarity: number;
    readonly sentences: readonly string[];
    readonly tracks: readonly {
      readonly file: string;
      readonly gainDb: number;
      readonly pan: number;
      readonly confidence: number;
    }[];
  } | null;
  readonly aside: readonly { readonly file: string; readonly reason: string }[];
  readonly isPlacedByTime: boolean;
}

const place = new Workplace();
const SECONDS = 8;
const made = multitrack(8, SECONDS, 12).map(({ name, audio }) => ({
  name,
  audio: { sampleRate: RATE, channels: audio.channels.map((channel) => channel.map((x) => 0.25 * x)) },
}));
const next = chance(3);
const places: Place[] = made.map(() => ({ gainDb: -8 + 6 * next(), pan: next() - 0.5 }));

const folderOf = (name: string, files: Readonly<Record<string, Audio | Uint8Array | string>>): string => {
  mkdirSync(place.path(name), { recursive: true });
  for (const [file, content] of Object.entries(files)) {
    const isRaw = typeof content === 'string' || content instanceof Uint8Array;
    writeFileSync(place.path(`${name}/${file}`), isRaw ? content : writeWav(content, '32f').bytes);
  }
  return place.path(name);
};

const sounds = (): Record<string, Audio> => Object.fromEntries(made.map(({ name, audio }) => [`${name}.wav`, audio]));
const rough = (lag = 0): Audio => ({
  sampleRate: RATE,
  channels: singles(sumOf(made, places).map((side) => delayed(side, lag))),
});

const intake = async (folder: string, ...args: readonly string[]): Promise<IntakeAnswer> =>
  (await runJson('intake', folder, '--out', `${folder}/session.json`, '--force', ...args)) as IntakeAnswer;

test('a folder becomes a session that sounds like its rough', async () => {
  const folder = folderOf('song', { ...sounds(), 'Song rough.wav': rough(480) });
  const answer = await intake(folder);
  expect(answer.session).toBe(`${folder}/session.json`);
  expect(answer.files.map(({ file }) => file).sort()).toEqual(Object.keys(sounds()).sort());
  expect(answer.files.flatMap(({ warnings }) => warnings)).toEqual([]);
  expect(answer.rough).toMatchObject({ lagSamples: 480, polarity: 1 });
  expect(answer.rough!.residualDb).toBeLessThan(-60);
  for (const { file, gainDb, pan, confidence } of answer.rough!.tracks) {
    const truth = places[made.findIndex(({ name }) => `${name}.wav` === file)]!;
    expect(Math.abs(gainDb - truth.gainDb)).toBeLessThan(0.1);
    expect(Math.abs(pan - truth.pan)).toBeLessThan(0.02);
    expect(confidence).toBeGreaterThan(0.95);
  }
  const session = parseSession(place.readText('song/session.json'), 'session.json');
  // The same levels and places are what the mix as received is made of.
  expect(session.receivedBalance).toEqual(session.tracks.map(({ id, gainDb, pan }) => ({ track: id, gainDb, pan })));
  expect(session.rough).toMatchObject({ file: 'Song rough.wav', offsetSeconds: -0.01 });
  expect(session.groups.map(({ name }) => name)).toEqual(['Drums', 'Bass', 'Guitars']);

  // The session's own renderer makes the rough again: what differs is the rounding of levels and places.
  const { files } = (await runJson(
    'print',
    answer.session,
    '--out',
    place.path('print'),
    '--bits',
    '32f',
    '--force',
  )) as {
    files: { path: string }[];
  };
  const printed = place.readAudio(files[0]!.path.slice(place.folder.length + 1)).channels;
  const wanted = place.readAudio('song/Song rough.wav').channels;
  let [left, whole] = [0, 0];
  printed.forEach((channel, c) =>
    channel.subarray(0, SECONDS * RATE).forEach((x, n) => {
      left += (x - wanted[c]![n + 480]!) ** 2;
      whole += x * x;
    }),
  );
  expect(10 * Math.log10(left / whole)).toBeLessThan(-70);
}, 60_000);

test('without a rough: groups and pairs by their names', async () => {
  const [kick, snare] = [made[0]!.audio, made[1]!.audio];
  const folder = folderOf('plain', {
    '01 Kick.wav': kick,
    'OH_L.wav': snare,
    'OH_R.wav': {
      ...snare,
      channels: snare.channels.map((c) => c.map((x, n) => 0.5 * x + kick.channels[0]![n]! * 0.3)),
    },
  });
  const { rough: none } = await intake(folder);
  expect(none).toBe(null);
  const { tracks } = parseSession(place.readText('plain/session.json'), 'session.json');
  expect(tracks.map(({ name, pan, gainDb }) => [name, pan, gainDb])).toEqual([
    ['Kick', 0, 0],
    ['OH L', -1, -3.01],
    ['OH R', 1, -3.01],
  ]);
});

test('a session runs at the rate of most files, or at the one that is asked for', async () => {
  const folder = folderOf('rates', { 'Kick.wav': made[0]!.audio });
  await intake(folder);
  expect(parseSession(place.readText('rates/session.json'), '').sampleRate).toBe(made[0]!.audio.sampleRate);
  await intake(folder, '--rate', '96000');
  expect(parseSession(place.readText('rates/session.json'), '').sampleRate).toBe(96_000);
});

// EBU Tech 3285: the time reference stands 338 bytes into the chunk, low word first.
const withTime = (audio: Audio, samples: number): Uint8Array => {
  const plain = writeWav(audio, '24').bytes;
  const bext = new Uint8Array(8 + 602);
  bext.set([0x62, 0x65, 0x78, 0x74]);
  const view = new DataView(bext.buffer);
  view.setUint32(4, 602, true);
  view.setUint32(8 + 338, samples, true);
  const out = new Uint8Array(plain.length + bext.length);
  out.set(plain.subarray(0, 12));
  out.set(bext, 12);
  out.set(plain.subarray(12), 12 + bext.length);
  new DataView(out.buffer).setUint32(4, out.length - 8, true);
  return out;
};

test('time references place the files where all have one, and it is said', async () => {
  const day = 3600 * RATE;
  const [kick, bass] = [made[0]!.audio, made[5]!.audio];
  const folder = folderOf('placed', { 'Bass.wav': withTime(bass, day + 24_000), 'Kick.wav': withTime(kick, day) });
  const answer = await intake(folder);
  expect(answer.isPlacedByTime).toBe(true);
  expect(
    answer.files.map(({ file, startSeconds, warnings }) => [file, startSeconds, warnings.map(({ code }) => code)]),
  ).toEqual([
    ['Bass.wav', 0.5, ['start-offset']],
    ['Kick.wav', 0, []],
  ]);
  const { tracks } = parseSession(place.readText('placed/session.json'), 'session.json');
  expect(tracks.map(({ name, offsetSeconds }) => [name, offsetSeconds])).toEqual([
    ['Bass', 0.5],
    ['Kick', 0],
  ]);
  const without = folderOf('partly', { 'Bass.wav': bass, 'Kick.wav': withTime(kick, day) });
  expect((await intake(without)).isPlacedByTime).toBe(false);
});

test('what cannot be read is left aside with the reason; readable words say the rest', async () => {
  const folder = folderOf('mixed', { ...sounds(), 'Broken.wav': 'no sound', 'note.txt': 'hello' });
  const { aside, files } = await intake(folder);
  expect(aside).toEqual([
    { file: 'Broken.wav', reason: expect.stringContaining('Broken.wav cannot be read') as string },
  ]);
  expect(files.length).toBe(made.length);
  const elsewhere = folderOf('elsewhere', { 'a.wav': rough() });
  const { code, out, err } = await run(
    'intake',
    folder,
    '--rough',
    `${elsewhere}/a.wav`,
    '--out',
    `${folder}/again.json`,
  );
  expect([code, err]).toEqual([0, '']);
  expect(out).toContain('The rough starts where the tracks do.');
  expect(out).toContain('Nothing is wrong with the files.');
  expect(out).toContain('Left aside: Broken.wav');
  expect(parseSession(place.readText('mixed/again.json'), 'again.json').rough!.file).toBe('../elsewhere/a.wav');
});

test('without --out the files are checked and no session is written; --page writes what was found', async () => {
  const folder = folderOf('checked', { 'Kick.wav': made[0]!.audio });
  const answer = (await runJson('intake', folder, '--page', place.path('found.html'))) as IntakeAnswer;
  const page = place.readText('found.html');
  expect(page).toContain('<h1>Received: checked</h1>');
  expect(page).toContain('There is no rough.');
  expect(page).toContain('Nothing is wrong with the files.');
  expect(answer.session).toBeNull();
  expect(answer.files).toHaveLength(1);
  expect((await run('intake', folder)).out).toContain('No session was written: --out FILE writes one.');
  expect(place.has('checked/session.json')).toBe(false);
});

test('a session written into another folder says how it is read; the page tells what a fix does', async () => {
  const [channel] = made[0]!.audio.channels;
  const shifted = { sampleRate: RATE, channels: [channel!.map((x) => x + 0.01)] };
  const folder = folderOf('with dc', { 'Kick.wav': shifted });
  const out = place.path('other/session.json');
  const page = ['--page', place.path('dc.html')];
  const sentence = `${out} names sound files outside of its folder: run commands on it from a folder above both, or with --allow-outside.`;
  expect(await runJson('intake', folder, '--out', out, ...page)).toMatchObject({ session: out, note: sentence });
  expect(place.readText('dc.html')).toMatch(/With the fix: DC offset 1\.\d\d % before, 0\.00 % after\./);
  expect((await run('intake', folder, '--out', out, '--force')).out).toContain(sentence);
  expect((await run('intake', folder, '--out', out, '--force', '--allow-outside')).out).not.toContain(sentence);
  // A session that was worked on since is not written over unasked.
  const again = await run('intake', folder, '--out', out);
  expect([again.code, again.out]).toEqual([2, '']);
  expect(again.err).toContain('or --force to replace what is there');
  // As the sentence says: refused from here, read with the option.
  expect(await run('check', out)).toMatchObject({ code: 2, err: expect.stringContaining('--allow-outside') as string });
  expect((await run('check', out, '--allow-outside')).err).not.toContain('outside');
  expect(await intake(folder)).not.toHaveProperty('note');
});

test('of silence nothing is guessed', async () => {
  const folder = folderOf('quiet', { 'Pad.wav': { sampleRate: RATE, channels: [new Float32Array(5 * RATE)] } });
  const answer = (await runJson('intake', folder, '--out', `${folder}/session.json`)) as IntakeAnswer & {
    guesses: object;
  };
  expect(answer.guesses).toEqual({ time: null, sections: [] });
  expect(answer.files[0]!.warnings.map(({ code }) => code)).toEqual(['silent']);
});

test('what cannot be taken is one sentence, and nothing is written', async () => {
  const refusal = async (...args: readonly string[]): Promise<string> => {
    const { code, out, err } = await run('intake', ...args);
    expect([code, out]).toEqual([2, '']);
    expect(err).toMatch(/^[^\n]+\.\n$/);
    return err.trim().replaceAll(place.folder, 'FOLDER');
  };
  const empty = folderOf('empty', { 'note.txt': 'hello' });
  const broken = folderOf('broken', { 'Kick.wav': 'no sound' });
  const out = ['--out', place.path('never.json')];
  expect(await refusal(place.path('nowhere'), ...out)).toBe(
    'FOLDER/nowhere is missing: expected a folder with the tracks, found nothing there.',
  );
  expect(await refusal(`${broken}/Kick.wav`, ...out)).toContain(
    'does not fit: expected a folder with the tracks, found a file.',
  );
  expect(await refusal(empty, ...out)).toContain('FOLDER/empty is missing: expected tracks');
  expect(await refusal(broken, ...out)).toMatch(
    /^FOLDER\/broken does not fit: expected at least one track that can be read, found Kick\.wav cannot be read/,
  );
  expect(await refusal(broken, '--json')).toContain('at least one track that can be read');
  expect(await refusal(broken, '--rough', place.path('no.wav'), ...out)).toContain('FOLDER/no.wav is missing');
  expect(await refusal(broken, '--out', `${broken}/Kick.wav`)).toContain('Kick.wav cannot be written');
  expect(place.has('never.json')).toBe(false);
});
