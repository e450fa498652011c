/** Bytes per piece. */
const PIECE = 2 ** 23;

/** The bytes of a blob, piece by piece. */
export async function* blobPieces(blob: Blob): AsyncGenerator<Uint8Array> {
  for (let at = 0; at < blob.size; at += PIECE) yield new Uint8Array(await blob.slice(at, at + PIECE).arrayBuffer());
}
