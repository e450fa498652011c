import { closeSync, mkdtempSync, openSync, readSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { reasonOf } from './node-files.ts';
import type { ByteSink, FileKeeper } from '../bytes/file-keeper.ts';

/** Reads all of `bytes` from a place in a file. @throws Error where the file ends before, or reading fails */
export const readAt = (file: number, bytes: Uint8Array, at: number): void => {
  for (let done = 0; done < bytes.length;) {
    const read = readSync(file, bytes, done, bytes.length - done, at + done);
    if (read === 0) throw new Error('its end before the end of its samples');
    done += read;
  }
};

/** Writes all of `bytes` to a place in a file. */
const writeAt = (file: number, bytes: Uint8Array, at: number): void => {
  for (let done = 0; done < bytes.length;) done += writeSync(file, bytes, done, bytes.length - done, at + done);
};

/** Closes files whose objects are no longer used. */
const closing = new FinalizationRegistry<number>((file) => closeSync(file));

/**
 * A file in the system's folder for temporary files that disappears when the process ends in any way: its name is removed at once,
 * and the system deletes nameless files when they are closed.
 */
export class ScratchFile {
  private readonly file: number;

  /** @throws the system's error where no file can be made */
  constructor() {
    const folder = mkdtempSync(join(tmpdir(), 'tributary-'));
    try {
      this.file = openSync(join(folder, 'sound'), 'wx+', 0o600);
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
    closing.register(this, this.file);
  }

  write(bytes: Uint8Array, at: number): void {
    writeAt(this.file, bytes, at);
  }

  read(bytes: Uint8Array, at: number): void {
    readAt(this.file, bytes, at);
  }
}

/** Bytes per read. */
const PIECE = 2 ** 20;

/** The warning when the disk cannot be written. */
export const refusedSentence = (what: string, error: unknown): string =>
  `${tmpdir()} does not take ${what} (${reasonOf(error)}): they stay in memory; TMPDIR can name another folder.`;

/** Keeps the bytes of a file in a scratch file; in memory where the disk cannot be written, with a warning through `tell`. */
const scratchSink = (tell: (sentence: string) => void): ByteSink<Iterable<Uint8Array>> => {
  const rest: Uint8Array[] = [];
  let file: ScratchFile | null = null;
  let isRefused = false;
  let written = 0;
  const write = (bytes: Uint8Array): void => {
    try {
      if (!isRefused) {
        file ??= new ScratchFile();
        file.write(bytes, written);
        written += bytes.length;
        return;
      }
    } catch (error) {
      isRefused = true;
      tell(refusedSentence('the files to be printed', error));
    }
    rest.push(bytes);
  };
  function* content(head: Uint8Array): Generator<Uint8Array> {
    yield head;
    for (let at = 0; at < written; at += PIECE) {
      const bytes = new Uint8Array(Math.min(PIECE, written - at));
      file!.read(bytes, at);
      yield bytes;
    }
    yield* rest;
  }
  return { write, end: (head) => ({ [Symbol.iterator]: () => content(head) }) };
};

/** Keeps files in scratch files. */
export const scratchKeeper = (tell: (sentence: string) => void): FileKeeper<Iterable<Uint8Array>> => ({
  hold: () => scratchSink(tell),
  bytesOf: (content) => content,
});
