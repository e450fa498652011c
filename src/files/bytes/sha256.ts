import { createSHA256 } from 'hash-wasm';
import { base64Of } from './base64.ts';

/** Bytes of a file, piece after piece. */
export type BytePieces = Iterable<Uint8Array> | AsyncIterable<Uint8Array>;

/** Size of a file and its SHA-256 (FIPS 180-4), 64 hexadecimal digits. */
export interface Digest {
  readonly bytes: number;
  readonly sha256: string;
}

/** The same pieces; `tell` is called with their digest at the end. */
export async function* digesting(pieces: BytePieces, tell: (digest: Digest) => void): AsyncGenerator<Uint8Array> {
  const hasher = await createSHA256();
  let bytes = 0;
  for await (const piece of pieces) {
    hasher.update(piece);
    bytes += piece.length;
    yield piece;
  }
  tell({ bytes, sha256: hasher.digest('hex') });
}

/** Reads all pieces, for the effect of wrappers such as `digesting`. */
export const readToEnd = async (pieces: AsyncGenerator<Uint8Array>): Promise<void> => {
  while (!(await pieces.next()).done);
};

export const digestOf = async (pieces: BytePieces): Promise<Digest> => {
  let found: Digest = { bytes: 0, sha256: '' };
  await readToEnd(digesting(pieces, (digest) => (found = digest)));
  return found;
};

/** SHA-256 of a text as UTF-8, in base64, for scripts in a Content-Security-Policy. */
export const digestBase64 = async (text: string): Promise<string> => {
  const hasher = await createSHA256();
  hasher.update(text);
  return base64Of(hasher.digest('binary'));
};
