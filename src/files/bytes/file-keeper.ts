import { joinedBytes } from './joined-bytes.ts';
import type { BytePieces } from './sha256.ts';

/** Receives the bytes of a file as they are written. */
export interface ByteSink<Content> {
  /** Adds to the end of the file. */
  write(bytes: Uint8Array<ArrayBuffer>): void;
  /** The file: `head`, then everything that was added. */
  end(head: Uint8Array<ArrayBuffer>): Content;
}

/** Keeps written files until they are delivered. */
export interface FileKeeper<Content> {
  /** Called for each file. */
  hold(): ByteSink<Content>;
  /** The bytes of a kept file. */
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
