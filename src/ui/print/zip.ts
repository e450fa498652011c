import { Zip, ZipPassThrough } from 'fflate';
import { ProblemError } from '../../session/problem.ts';

/** Sizes and places in a plain zip are 32 bit numbers; the rest is room for its own records. */
const LARGEST_ZIP = 0xffffffff - 0x100000;

interface NamedFile {
  /** File name with its ending. */
  readonly name: string;
  readonly data: Blob;
}

/**
 * One zip of all the files, stored without compression: sound hardly gets smaller.
 * @throws ProblemError if they are too large for one zip
 */
export const zipped = async (files: readonly NamedFile[], largest = LARGEST_ZIP): Promise<Blob> => {
  const size = files.reduce((sum, { data }) => sum + data.size, 0);
  if (size > largest) {
    const [expected, found] = ['files of less than 4 GB: download them one by one', `${(size / 1e9).toFixed(1)} GB`];
    throw new ProblemError({ code: 'mismatch', path: 'Download all', expected, found });
  }
  // Each part becomes a blob at once, so that the browser need not hold all of them in memory.
  const parts: Blob[] = [];
  const zip = new Zip((error, part) => {
    if (error) throw error;
    parts.push(new Blob([Uint8Array.from(part)]));
  });
  for (const { name, data } of files) {
    const entry = new ZipPassThrough(name);
    zip.add(entry);
    entry.push(new Uint8Array(await data.arrayBuffer()), true);
  }
  zip.end();
  return new Blob(parts, { type: 'application/zip' });
};
