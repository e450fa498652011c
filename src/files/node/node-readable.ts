import { createReadStream } from 'node:fs';
import { open } from 'node:fs/promises';
import { readingProblem, requireRegular } from './node-files.ts';
import type { BytePieces } from '../bytes/sha256.ts';
import type { ReadableAt } from '../zip/zip-read.ts';

/**
 * Opens a file for random access, calls `use`, and closes it.
 * @throws ProblemError where it cannot be read
 */
export const withReadable = async <R>(path: string, use: (file: ReadableAt) => Promise<R>): Promise<R> => {
  await requireRegular(path);
  const handle = await open(path).catch((error: unknown) => {
    throw readingProblem(path, error);
  });
  try {
    const { size } = await handle.stat();
    const read = async (from: number, to: number): Promise<Uint8Array> => {
      const bytes = new Uint8Array(Math.max(0, Math.min(to, size) - from));
      const { bytesRead } = await handle.read(bytes, 0, bytes.length, from);
      return bytes.subarray(0, bytesRead);
    };
    return await use({ size, read });
  } finally {
    await handle.close();
  }
};

/** The bytes of the file at `path`, read anew for each iteration. @throws ProblemError where they cannot be read */
export const piecesOfFile = (path: string): BytePieces => ({
  async *[Symbol.asyncIterator]() {
    try {
      yield* createReadStream(path, { highWaterMark: 2 ** 20 }) as AsyncIterable<Uint8Array>;
    } catch (error) {
      throw readingProblem(path, error);
    }
  },
});
