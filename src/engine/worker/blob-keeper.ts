import { blobPieces } from '../../files/bytes/blob-pieces.ts';
import type { ByteSink, FileKeeper } from '../../files/bytes/file-keeper.ts';

/** Bytes of a file that are given to the browser as one blob; the browser keeps large blobs on disk. */
const HANDED_OVER = 2 ** 23;

const inBlob = (): ByteSink<Blob> => {
  const kept: Blob[] = [];
  let pieces: Uint8Array<ArrayBuffer>[] = [];
  let size = 0;
  const handOver = (): void => {
    kept.push(new Blob(pieces));
    pieces = [];
    size = 0;
  };
  const write = (bytes: Uint8Array<ArrayBuffer>): void => {
    pieces.push(bytes);
    size += bytes.length;
    if (size >= HANDED_OVER) handOver();
  };
  const end = (head: Uint8Array<ArrayBuffer>): Blob => {
    handOver();
    return new Blob([head, ...kept], { type: 'audio/wav' });
  };
  return { write, end };
};

/** Keeps files as blobs of the browser. */
export const blobKeeper: FileKeeper<Blob> = { hold: inBlob, bytesOf: blobPieces };
