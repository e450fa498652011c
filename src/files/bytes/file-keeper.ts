import { joinedBytes } from './joined-bytes.ts';
import type { BytePieces } from './sha256.ts';

/** Where the bytes of a file go as they are made. */
export interface ByteSink<Content> {
  /** Adds to the end of the file. */
  write(bytes: Uint8Array<ArrayBuffer>): void;
  /** The file, with `head` in front of all that was written. */
  end(head: Uint8Array<ArrayBuffer>): Content;
}

/** Where files are kept until they are handed over. */
export interface FileKeeper<Content> {
  /** Called for each file. */
  hold(): ByteSink<Content>;
  /** All of a file that is kept. */
  bytesOf(content: Content): BytePieces;
}

/** Keeps files in memory. */
export const inMemory: FileKeeper<Uint8Array> = {
  hold: () => {
    const pieces: Uint8Array[] = [];
    return { write: (bytes) => void pieces.push(bytes), end: (head) => joinedBytes([head, ...pieces]) };
  },
  bytesOf: (content) => [content],
};
