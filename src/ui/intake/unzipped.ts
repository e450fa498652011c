import { BUNDLE_REPORT } from '../../files/bundle/bundle-names.ts';
import { bundledContent, bundledFiles, isBundle } from '../../files/bundle/bundle-read.ts';
import { zipContent } from '../../files/zip/zip-content.ts';
import { readableBlob, zipEntries, type ZipEntry } from '../../files/zip/zip-read.ts';
import { isTakenByName, isZip, nameOf, type GivenFile } from './dropped.ts';

/** What an entry holds. One that is not packed stays in the zip; of others the pieces become blobs at once, so that the browser need not hold them in memory. */
const blobOf = async ({ file }: GivenFile, entry: ZipEntry, content: AsyncIterable<Uint8Array>): Promise<Blob> => {
  const pieces: Blob[] = [];
  for await (const piece of content) if (entry.isDeflated) pieces.push(new Blob([Uint8Array.from(piece)]));
  return entry.isDeflated ? new Blob(pieces) : file.slice(entry.start, entry.start + entry.bytes);
};

const given = (name: string, blob: Blob): GivenFile => ({ path: name, file: new File([blob], nameOf(name)) });

/** Session and sound of a bundle, each held against its manifest. */
const bundled = async (zip: GivenFile, entries: readonly ZipEntry[]): Promise<GivenFile[]> => {
  const { path } = zip;
  const file = readableBlob(zip.file);
  const all: GivenFile[] = [];
  for (const each of await bundledFiles(file, entries, path)) {
    const { name } = each.entry;
    if (name.startsWith(BUNDLE_REPORT) || !isTakenByName(name)) continue;
    all.push(given(name, await blobOf(zip, each.entry, bundledContent(file, each, path))));
  }
  return all;
};

/** The files in a zip. Of those that are not taken, only the name is given. @throws ProblemError where it cannot be unpacked */
const filesIn = async (zip: GivenFile): Promise<GivenFile[]> => {
  const file = readableBlob(zip.file);
  const entries = await zipEntries(file, zip.path);
  if (isBundle(entries)) return bundled(zip, entries);
  const all: GivenFile[] = [];
  for (const entry of entries) {
    const isTaken = isTakenByName(entry.name);
    const blob = isTaken ? await blobOf(zip, entry, zipContent(file, entry, zip.path)) : new Blob();
    all.push(given(entry.name, blob));
  }
  return all;
};

/** The same files, with those that lie in zip files in the place of these. */
export const unzipped = async (given: readonly GivenFile[]): Promise<GivenFile[]> => {
  const all: GivenFile[] = [];
  for (const each of given) all.push(...(isZip(each.path) ? await filesIn(each) : [each]));
  return all;
};
