import { createHash } from 'node:crypto';
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import type { Manifest } from '../../src/files/print/manifest.ts';
import { run, runJson, Workplace } from './command.ts';
import { writeSession, writeSounds } from './song.ts';

interface Answer {
  readonly files: readonly { readonly path: string; readonly ok: boolean; readonly problem: string | null }[];
  readonly ok: boolean;
}

const place = new Workplace();
writeSounds(place);
const session = writeSession(place, 'song.json', { artist: 'The Inventions' });
await run('print', session, '--out', place.path('out'), '--kinds', 'main,stems');
const manifestPath = place.path('out/Small song - manifest.json');
const manifest = JSON.parse(readFileSync(manifestPath, 'utf8')) as Manifest;
const mix = place.path('out/Small song.wav');
const whole = readFileSync(mix);

const verified = async (): Promise<[number, Answer]> => {
  const { code, out, err } = await run('verify', place.path('out'), '--json');
  expect(err).toBe('');
  return [code, JSON.parse(out) as Answer];
};

test('a manifest lists every file beside itself, with its size and the SHA-256 that another library finds', () => {
  const listed = manifest.files.map(({ path }) => path).sort();
  expect(listed).toEqual(place.list('out').filter((name) => !name.endsWith('manifest.json')));
  for (const { path, bytes, sha256 } of manifest.files) {
    const content = readFileSync(place.path(`out/${path}`));
    expect([bytes, sha256]).toEqual([content.length, createHash('sha256').update(content).digest('hex')]);
  }
});

test('a folder as it was printed is verified', async () => {
  const answer = (await runJson('verify', place.path('out'))) as Answer;
  expect(answer.ok).toBe(true);
  expect(answer.files.map(({ ok, problem }) => [ok, problem])).toEqual(manifest.files.map(() => [true, null]));
});

test('a file that is in no manifest is told of', async () => {
  writeFileSync(place.path('out/other.wav'), whole);
  const { code, out } = await run('verify', place.path('out'));
  expect([code, out]).toEqual([0, expect.stringContaining('other.wav: in no manifest')]);
  rmSync(place.path('out/other.wav'));
});

test('one flipped bit is found, and the file named', async () => {
  const spoilt = Uint8Array.from(whole);
  spoilt[spoilt.length - 1000]! ^= 1;
  writeFileSync(mix, spoilt);
  const [code, { files, ok }] = await verified();
  expect([code, ok]).toEqual([1, false]);
  expect(files.filter((file) => !file.ok)).toEqual([
    { path: 'Small song.wav', ok: false, problem: 'its bytes differ from those that were printed (SHA-256)' },
  ]);
  writeFileSync(mix, whole);
});

test('a missing and a shortened file are found, and figures in the manifest that are not those of the file', async () => {
  const [stem] = manifest.files.filter(({ sound }) => sound?.kind === 'stems');
  const stemPath = place.path(`out/${stem!.path}`);
  const stemBytes = readFileSync(stemPath);
  rmSync(stemPath);
  writeFileSync(mix, whole.subarray(0, 500));
  const [, { files }] = await verified();
  const problemsOf = (path: string) => files.find((file) => file.path === path)!.problem;
  expect(problemsOf(stem!.path)).toBe('it is missing');
  expect(problemsOf('Small song.wav')).toBe(`it has 500 bytes, and the manifest says ${whole.length}`);
  writeFileSync(stemPath, stemBytes);
  writeFileSync(mix, whole);
  const louder = manifest.files.map((file) =>
    file.path === 'Small song.wav' && file.sound
      ? { ...file, sound: { ...file.sound, figures: { ...file.sound.figures, integratedLufs: -5 } } }
      : file,
  );
  writeFileSync(manifestPath, JSON.stringify({ ...manifest, files: louder }));
  const [code, answer] = await verified();
  expect(code).toBe(1);
  expect(answer.files.find(({ ok }) => !ok)!.problem).toMatch(
    /^Integrated loudness measures -[\d.]+ LUFS, and the manifest says -5\.00 LUFS$/,
  );
  writeFileSync(manifestPath, JSON.stringify(manifest));
});

test('a folder without a manifest, and a manifest that is none, are told in one sentence', async () => {
  const none = await run('verify', place.folder);
  expect([none.code, none.err]).toEqual([
    2,
    `the manifest in ${place.folder} is missing: expected a file whose name ends in " - manifest.json", as a print writes it, found none.\n`,
  ]);
  const bad = new Workplace();
  bad.write('x - manifest.json', '{"format": "tributary-manifest", "version": 9}');
  const { code, err } = await run('verify', bad.folder);
  expect([code, err]).toEqual([
    2,
    `${bad.path('x - manifest.json')}: version is 9, but this program reads version 1.\n`,
  ]);
});
