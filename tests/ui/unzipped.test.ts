import { unzipSync, zipSync } from 'fflate';
import { expect, test } from 'vitest';
import { blobPieces } from '../../src/files/bytes/blob-pieces.ts';
import { bundleFiles } from '../../src/files/bundle/bundle-write.ts';
import { newSession } from '../../src/ui/intake/placement.ts';
import { unzipped } from '../../src/ui/intake/unzipped.ts';
import { zipBlob } from '../../src/ui/shared/zip.ts';
import { streamedZip } from '../helpers/streamed-zip.ts';

const bytes = (count: number, seed = 1): Uint8Array =>
  Uint8Array.from({ length: count }, (_, n) => (n * 31 * seed) % 251);
const dropped = (name: string, content: Uint8Array) => ({
  path: name,
  file: new File([Uint8Array.from(content)], name),
});

const song = { 'song/kick.wav': bytes(20_000), 'song/notes.txt': bytes(9), '__MACOSX/song/._kick.wav': bytes(4) };

test.each([0, 6] as const)('files in a zip of level %i come with their folders, as they were packed', async (level) => {
  const others = dropped('bass.wav', bytes(10));
  const found = await unzipped([others, dropped('song.zip', zipSync(song, { level }))]);
  expect(found.map(({ path }) => path)).toEqual(['bass.wav', 'song/kick.wav', 'song/notes.txt']);
  expect(found[0]).toBe(others);
  expect(new Uint8Array(await found[1]!.file.arrayBuffer())).toEqual(song['song/kick.wav']);
  // Known by its name only: it is told of, and not unpacked.
  expect(found[2]!.file.size).toBe(0);
});

test('a zip whose sizes stand behind its entries is read, as those are that were written in one go', async () => {
  const [kick] = await unzipped([dropped('song.zip', streamedZip('kick.wav', song['song/kick.wav']))]);
  expect(new Uint8Array(await kick!.file.arrayBuffer())).toEqual(song['song/kick.wav']);
});

test.each([
  ['is no zip', bytes(500)],
  ['is cut off', zipSync(song, { level: 0 }).subarray(0, 10_000)],
  ['is empty', zipSync({})],
])('one that %s is refused with its name', async (_, content) => {
  await expect(unzipped([dropped('song.zip', content)])).rejects.toThrow(/^song\.zip .*zip file that can be unpacked/);
});

test('of a bundle session and sound are taken, and held against its manifest', async () => {
  const session = newSession([]);
  const texts = [{ name: 'report/Song - report.json', content: '{}' }];
  const sounds = new Map([['../kick.wav', new Blob([Uint8Array.from(song['song/kick.wav'])])]]);
  const files = await bundleFiles<Blob>(
    { session, sounds, texts, date: new Date(0) },
    { bytesOf: blobPieces, textContent: (text) => new Blob([text]), pace: () => {} },
  );
  const zip = new Uint8Array(await zipBlob(files).arrayBuffer());
  const found = await unzipped([dropped('song.zip', zip)]);
  expect(found.map(({ path }) => path)).toEqual(['session.json', 'audio/kick.wav']);
  expect(new Uint8Array(await found[1]!.file.arrayBuffer())).toEqual(song['song/kick.wav']);
  // The same packed anew by another program, with one sound changed.
  const others = { ...unzipSync(zip), 'audio/kick.wav': bytes(20_000, 3) };
  await expect(unzipped([dropped('song.zip', zipSync(others))])).rejects.toThrow(
    /^audio\/kick\.wav in song\.zip does not fit: expected the bytes that its manifest lists/,
  );
});
