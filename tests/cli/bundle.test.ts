import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { strFromU8, unzipSync, zipSync } from 'fflate';
import { expect, test } from 'vitest';
import { bundlePaths } from '../../src/files/bundle/bundle-names.ts';
import { run, runJson, Workplace } from './command.ts';
import { songSession, writeSounds } from './song.ts';

const place = new Workplace();
writeSounds(place);
// The session stands below its sound, so that the way to that leads up.
mkdirSync(place.path('work/sessions'), { recursive: true });
const { tracks } = songSession() as { tracks: readonly { file: string }[] };
const up = {
  rough: { file: '../../rough.wav' },
  tracks: tracks.map((track) => ({ ...track, file: `../../${track.file}` })),
};
const session = place.path('work/sessions/song.json');
const trial = {
  id: 'trial',
  kind: 'abx',
  a: 'rough',
  b: 'without:double',
  planned: 5,
  seed: 1,
  answers: Array(5).fill('right'),
};
writeFileSync(session, JSON.stringify(songSession({ ...up, trials: [trial] })));
const zip = place.path('song.zip');
await run('bundle', session, '--out', zip, '--allow-outside');
const bytes = readFileSync(zip);

const sha = (name: string): string =>
  createHash('sha256')
    .update(readFileSync(place.path(name)))
    .digest('hex');
/** The bundle with some of its files as others, packed anew by another library. */
const remade = (name: string, change: (files: Record<string, Uint8Array>) => void): string => {
  const files = { ...unzipSync(bytes) };
  change(files);
  return place.write(name, zipSync(files, { level: 1 }));
};

test('a bundle holds session, sound as it was received, report, recall sheet and a manifest', () => {
  const files = unzipSync(bytes);
  expect(Object.keys(files).sort()).toEqual([
    'audio/bass.wav',
    'audio/keys.wav',
    'audio/rough.wav',
    'bundle - manifest.json',
    'lists/levels.csv',
    'lists/lines.csv',
    'lists/sections.csv',
    'lists/sends.csv',
    'lists/tempo and sections.mid',
    'lists/tempo.csv',
    'report/Small song - recall sheet.html',
    'report/Small song - recall sheet.md',
    'report/Small song - report.html',
    'report/Small song - report.json',
    'report/Small song - report.md',
    'session.json',
  ]);
  for (const name of ['bass.wav', 'keys.wav', 'rough.wav'])
    expect(createHash('sha256').update(files[`audio/${name}`]!).digest('hex')).toBe(sha(name));
  const report = strFromU8(files['report/Small song - report.md']!);
  // 5 of 5 by guessing: 1/32 = 0.03125.
  expect(report).toContain(
    'Difference (ABX), the rough against the mix without Bass double, over the whole song: 5 of 5 right, p = 0.031',
  );
  expect(report).toContain('| Bass double | bus | 0.0 dB | Bass at 0.0 dB | Gain |');
});

test('it is unpacked elsewhere, verified, and prints the same bytes', async () => {
  const { session: unpacked } = (await runJson('unpack', zip, '--out', place.path('away/song'))) as { session: string };
  expect(unpacked).toBe(place.path('away/song/session.json'));
  expect((await run('verify', place.path('away/song'))).code).toBe(0);
  const kinds = ['--kinds', 'main,stems'];
  await run('print', session, '--allow-outside', '--out', place.path('here'), ...kinds);
  await run('print', unpacked, '--out', place.path('there'), ...kinds);
  const sounds = place.list('here').filter((name) => name.endsWith('.wav'));
  expect(sounds).toHaveLength(4);
  for (const name of sounds) expect(sha(`there/${name}`)).toBe(sha(`here/${name}`));
  // Once more into the same folder only where that is asked for.
  expect((await run('unpack', zip, '--out', place.path('away/song'))).err).toMatch(/--force to replace/);
  expect((await run('unpack', zip, '--out', place.path('away/song'), '--force')).code).toBe(0);
});

test('a bundle of an unpacked bundle has the same files, and the same sound', async () => {
  await run('unpack', zip, '--out', place.path('again'));
  await run('bundle', place.path('again/session.json'), '--out', place.path('again.zip'), '--no-report');
  const [first, second] = [unzipSync(bytes), unzipSync(readFileSync(place.path('again.zip')))];
  const kept = Object.keys(first).filter((name) => !name.startsWith('report/'));
  expect(Object.keys(second)).toEqual(kept);
  for (const name of kept.filter((each) => !each.endsWith('manifest.json')))
    expect(Buffer.from(second[name]!).equals(first[name]!)).toBe(true);
});

test.skipIf(spawnSync('unzip', ['-v']).error !== undefined)('Info-ZIP finds no fault in it', () => {
  const { stdout, status } = spawnSync('unzip', ['-t', zip], { encoding: 'utf8' });
  expect([status, stdout]).toEqual([0, expect.stringContaining('No errors detected')]);
});

const flipped = (): string => {
  const spoilt = Uint8Array.from(bytes);
  spoilt[bytes.indexOf('fmt ') + 5000]! ^= 1;
  return place.write('flipped.zip', spoilt);
};
const flip = (files: Record<string, Uint8Array>, name: string): void => {
  files[name] = Uint8Array.from(files[name]!);
  files[name][5000]! ^= 1;
};

test.each([
  ['with one flipped bit', flipped, /found audio\/[a-z]+\.wav, which is damaged/],
  [
    'whose sound was replaced by another',
    () => remade('other.zip', (files) => flip(files, 'audio/keys.wav')),
    /audio\/keys\.wav in .* does not fit: expected the bytes that its manifest lists \(SHA-256\)/,
  ],
  [
    'without one of its files',
    () => remade('less.zip', (files) => void delete files['audio/keys.wav']),
    /audio\/keys\.wav in .*, found none/,
  ],
  [
    'without a manifest',
    () => remade('plain.zip', (files) => void delete files['bundle - manifest.json']),
    /not a bundle/,
  ],
  [
    'that leads out of its folder',
    () => remade('slip.zip', (files) => (files['../../slip.wav'] = new Uint8Array(3))),
    /whose name leads elsewhere/,
  ],
])('a bundle %s is refused in one sentence, and nothing is written', async (_, make, words) => {
  const { code, err, out } = await run('unpack', make(), '--out', place.path('refused'));
  expect([code, out, place.has('refused')]).toEqual([2, '', false]);
  expect(err).toMatch(words);
  expect(err.trim().split('\n')).toHaveLength(1);
});

test('a file that is missing when its bundle is made is told, and no bundle is there', async () => {
  mkdirSync(place.path('lost'));
  writeFileSync(place.path('lost/song.json'), JSON.stringify(songSession()));
  const { code, err } = await run('bundle', place.path('lost/song.json'), '--out', place.path('lost.zip'));
  expect([code, place.has('lost.zip')]).toEqual([2, false]);
  expect(err).toMatch(/is missing: expected a file at/);
  rmSync(place.path('lost'), { recursive: true });
});

test('paths in a bundle lead nowhere else and differ on every system', () => {
  const files = ['kick.wav', '../Kick.wav', '/etc/kick.wav', 'audio/snare.wav', 'a:b/what?.wav', '..'];
  expect([...bundlePaths(files).values()]).toEqual([
    'audio/kick.wav',
    'audio/Kick-2.wav',
    'audio/etc/kick.wav',
    'audio/snare.wav',
    'audio/a b/what .wav',
    'audio/sound',
  ]);
});
