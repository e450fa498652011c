import { unzipSync, zipSync } from 'fflate';
import { crc32 } from 'hash-wasm';
import { expect, test } from 'vitest';
import { zipContent } from '../../../src/files/zip/zip-content.ts';
import { readableBlob, zipEntries } from '../../../src/files/zip/zip-read.ts';
import { zipParts, type ZipFile } from '../../../src/files/zip/zip-write.ts';
import { joinedBytes } from '../../../src/files/bytes/joined-bytes.ts';
import { streamedZip } from '../../helpers/streamed-zip.ts';

// fflate reads what is written here, and writes what is read here; tests/cli/bundle.test.ts has Info-ZIP read a bundle where it is installed.

const bytes = (count: number, seed = 1): Uint8Array<ArrayBuffer> =>
  Uint8Array.from({ length: count }, (_, n) => (n * 31 * seed) % 251);

const fileOf = async (name: string, content: Uint8Array): Promise<ZipFile<Uint8Array>> => ({
  ...{ name, bytes: content.length, content },
  crc32: parseInt(await crc32(content), 16),
});

const zipOf = (files: readonly ZipFile<Uint8Array>[], largest?: number): Uint8Array<ArrayBuffer> =>
  joinedBytes([...zipParts(files, largest)].map((part) => ('content' in part ? part.content : part)));

const read = async (zip: Uint8Array): Promise<Record<string, Uint8Array>> => {
  const file = readableBlob(new Blob([Uint8Array.from(zip)]));
  const found: Record<string, Uint8Array> = {};
  for (const entry of await zipEntries(file, 'song.zip')) {
    const pieces: Uint8Array[] = [];
    for await (const piece of zipContent(file, entry, 'song.zip')) pieces.push(piece);
    found[entry.name] = joinedBytes(pieces);
  }
  return found;
};

const song = { 'audio/kick.wav': bytes(20_000), 'Übung.json': bytes(9, 3), 'empty.txt': new Uint8Array() };
const files = await Promise.all(Object.entries(song).map(([name, content]) => fileOf(name, content)));

test.each([
  ['in 32 bits', undefined],
  ['in 64 bits, as where it is larger than 4 GB', 8],
])('a zip with its sizes %s is read by another library, and here', async (_, largest) => {
  const zip = zipOf(files, largest);
  expect(unzipSync(zip)).toEqual(song);
  expect(await read(zip)).toEqual(song);
});

test.each([0, 6] as const)('a zip of level %i that another library wrote is read', async (level) => {
  expect(await read(zipSync(song, { level }))).toEqual(song);
});

test('a zip whose sizes stand behind its entries is read', async () => {
  const kick = song['audio/kick.wav'];
  expect(await read(streamedZip('kick.wav', kick))).toEqual({ 'kick.wav': kick });
});

const spoilt = (zip: Uint8Array, at: number, change: (byte: number) => number): Uint8Array => {
  const copy = Uint8Array.from(zip);
  copy[at] = change(copy[at]!);
  return copy;
};
/** Where the record of the first file begins in the list at the end. */
const listAt = (zip: Uint8Array): number => Buffer.from(zip).indexOf(Buffer.from([0x50, 0x4b, 1, 2]));
const stored = zipOf(files);
const packed = zipSync({ 'kick.wav': song['audio/kick.wav'] });
const silence = zipSync({ 'a.wav': new Uint8Array(2 ** 20) });
/** The list says so many bytes, whatever is packed. */
const saysBytes = (zip: Uint8Array, count: number): Uint8Array => {
  const copy = Uint8Array.from(zip);
  new DataView(copy.buffer).setUint32(listAt(copy) + 24, count, true);
  return copy;
};
/** The second file in the list is the first one again, under its own name. */
const overlapping = (): Uint8Array => {
  const zip = zipOf(files.slice(0, 2));
  const second = listAt(zip) + 46 + files[0]!.name.length;
  const view = new DataView(zip.buffer);
  view.setUint32(second + 42, 0, true);
  view.setUint32(second + 20, 20_000, true);
  view.setUint32(second + 24, 20_000, true);
  return zip;
};

test.each([
  ['is no zip', bytes(500), /damaged or cut off/],
  ['is cut off', stored.subarray(0, 10_000), /damaged or cut off/],
  ['is empty', zipSync({}), /without files/],
  ['has a flipped bit in a stored file', spoilt(stored, 5000, (byte) => byte ^ 1), /kick\.wav, which is damaged/],
  ['has a flipped bit in a packed file', spoilt(packed, 200, (byte) => byte ^ 1), /kick\.wav, which is damaged/],
  ['has a flipped bit in its list', spoilt(stored, listAt(stored), (byte) => byte ^ 1), /damaged or cut off/],
  ['is locked', spoilt(stored, listAt(stored) + 8, (flags) => flags | 1), /kick\.wav, which is locked by a password/],
  [
    'is packed in another way',
    spoilt(packed, listAt(packed) + 10, () => 14),
    /kick\.wav, which is packed in another way/,
  ],
  ['leads up', zipOf([await fileOf('audio/../../x.wav', bytes(3))]), /whose name leads elsewhere/],
  ['leads to the root', zipOf([await fileOf('/etc/x.wav', bytes(3))]), /whose name leads elsewhere/],
  ['leads to a drive', zipOf([await fileOf('c:/x.wav', bytes(3))]), /whose name leads elsewhere/],
  ['leads up by other slashes', zipOf([await fileOf('a\\..\\..\\x.wav', bytes(3))]), /whose name leads elsewhere/],
  ['has a name twice', zipOf([files[0]!, files[0]!]), /two files called audio\/kick\.wav/],
  ['has files that share bytes', overlapping(), /damaged or cut off/],
  ['unpacks to far more than it is', saysBytes(silence, 2 ** 31), /more than 1000 times its size/],
  ['unpacks to more than it says', saysBytes(silence, 2 ** 19), /a\.wav, which is damaged/],
])('a zip that %s is refused in one sentence', async (_, zip, words) => {
  const fault = await read(zip).then(
    () => '',
    (error: Error) => error.message,
  );
  expect(fault).toMatch(/^song\.zip does not fit: expected a zip file that can be unpacked, found [^\n]*\.$/);
  expect(fault).toMatch(words);
});

test('a whole that unpacks to far more than it is is refused, though each file does not', async () => {
  // Each says 190 MB, which a single file may.
  const each = await fileOf('', bytes(200));
  const zip = zipOf(['a.wav', 'b.wav', 'c.wav'].map((name) => ({ ...each, name })));
  const view = new DataView(zip.buffer);
  for (let at = listAt(zip), n = 0; n < 3; n++, at += 46 + 5) {
    view.setUint16(at + 10, 8, true);
    view.setUint32(at + 24, 190e6, true);
  }
  await expect(read(zip)).rejects.toThrow(/files that unpack to more than 200 times its size/);
});
