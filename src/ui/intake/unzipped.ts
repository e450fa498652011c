import { zipContent } from '../../files/zip/zip-content.ts';
import { readableBlob, zipEntries, type ZipEntry } from '../../files/zip/zip-read.ts';
import { isTakenByName, nameOf, type GivenFile } from './dropped.ts';

export const isZip = (path: string): boolean => /\.zip$/i.test(path);

/** What an entry holds. One that is not packed stays in the zip; of others the pieces become blobs at once, so that the browser need not hold them in memory. */
const contentOf = async ({ path, file }: GivenFile, entry: ZipEntry): Promise<Blob> => {
  const pieces: Blob[] = [];
  for await (const piece of zipContent(readableBlob(file), entry, path))
    if (entry.isDeflated) pieces.push(new Blob([Uint8Array.from(piece)]));
  return entry.isDeflated ? new Blob(pieces) : file.slice(entry.start, entry.start + entry.bytes);
};

/** The files in a zip. Of those that are not taken, only the name is given. @throws ProblemError where it cannot be unpacked */
const filesIn = async (zip: GivenFile): Promise<GivenFile[]> => {
  const given: GivenFile[] = [];
  for (const entry of await zipEntries(readableBlob(zip.file), zip.path)) {
    const { name } = entry;
    const blob = isTakenByName(name) ? await contentOf(zip, entry) : new Blob();
    given.push({ path: name, file: new File([blob], nameOf(name)) });
  }
  return given;
};

/** The same files, with those that lie in zip files in the place of these. */
export const unzipped = async (given: readonly GivenFile[]): Promise<GivenFile[]> => {
  const all: GivenFile[] = [];
  for (const each of given) all.push(...(isZip(each.path) ? await filesIn(each) : [each]));
  return all;
};
