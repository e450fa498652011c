import { Unzip, UnzipInflate, type UnzipFile } from 'fflate';
import { ProblemError } from '../../session/problem.ts';
import { isTakenByName, type GivenFile } from './dropped.ts';

export const isZip = (path: string): boolean => /\.zip$/i.test(path);

/** Sound hardly gets smaller than a thousandth; what is packed so far, and large, is no sound. */
const MOST_RATIO = 1000;
const LARGE_BYTES = 2 ** 28;

const broken = (path: string, found: string): ProblemError =>
  new ProblemError({ code: 'mismatch', path, expected: 'a zip file that can be unpacked', found });

/** One entry as it is unpacked: its pieces become blobs at once, so that the browser need not hold them in memory. */
const unpacking = (entry: UnzipFile, zip: string): Promise<Blob> =>
  new Promise((resolve, reject) => {
    const pieces: Blob[] = [];
    let bytes = 0;
    entry.ondata = (error, data, isLast) => {
      // What fflate tells of an entry names its own machinery.
      if (error as Error | null) return reject(broken(zip, 'one that is damaged, or locked by a password'));
      bytes += data.length;
      if (bytes > LARGE_BYTES && bytes > MOST_RATIO * (entry.size ?? Infinity)) {
        entry.terminate();
        return reject(broken(zip, `${entry.name}, which unpacks to more than ${MOST_RATIO} times its size`));
      }
      pieces.push(new Blob([Uint8Array.from(data)]));
      if (isLast) resolve(new Blob(pieces));
    };
    entry.start();
  });

/** The files in a zip. Of those that are not taken, only the name is given. @throws ProblemError where it cannot be unpacked */
const filesIn = async ({ path, file }: GivenFile): Promise<GivenFile[]> => {
  const entries: Promise<GivenFile>[] = [];
  const unzip = new Unzip((entry) => {
    if (entry.name.endsWith('/') || entry.name.startsWith('__MACOSX/')) return;
    const name = entry.name.replaceAll('\\', '/');
    const content = isTakenByName(name) ? unpacking(entry, path) : Promise.resolve(new Blob());
    const given = content.then((blob) => ({
      path: name,
      file: new File([blob], name.slice(name.lastIndexOf('/') + 1)),
    }));
    // Told below, once all of the zip has been read.
    given.catch(() => {});
    entries.push(given);
  });
  unzip.register(UnzipInflate);
  try {
    const reader = file.stream().getReader();
    for (let next = await reader.read(); !next.done; next = await reader.read()) unzip.push(next.value);
    unzip.push(new Uint8Array(0), true);
  } catch {
    throw broken(path, 'one that is damaged or cut off');
  }
  if (entries.length === 0) throw broken(path, 'one without files');
  return Promise.all(entries);
};

/** The same files, with those that lie in zip files in the place of these. */
export const unzipped = async (given: readonly GivenFile[]): Promise<GivenFile[]> => {
  const all: GivenFile[] = [];
  for (const each of given) all.push(...(isZip(each.path) ? await filesIn(each) : [each]));
  return all;
};
