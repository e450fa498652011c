/** Big-endian fields of files. */

/** Content of a chunk: its first byte in the file, and its size, bytes. */
export interface ChunkPlace {
  readonly start: number;
  readonly size: number;
}

export const textAt = (view: DataView, at: number): string =>
  at + 4 > view.byteLength
    ? ''
    : String.fromCharCode(view.getUint8(at), view.getUint8(at + 1), view.getUint8(at + 2), view.getUint8(at + 3));

/** An 80 bit extended float (IEEE 754, as AIFF writes rates): sign and exponent in 16 bits, then 64 bits of mantissa. */
export const extendedAt = (view: DataView, at: number): number => {
  const head = view.getUint16(at);
  const mantissa = view.getUint32(at + 2) * 2 ** 32 + view.getUint32(at + 6);
  return (head & 0x8000 ? -1 : 1) * mantissa * 2 ** ((head & 0x7fff) - 16383 - 63);
};

/** Samples of `size` bytes each with their bytes in reverse order; an incomplete sample at the end is dropped. */
export const withBytesReversed = (bytes: Uint8Array, size: number): Uint8Array<ArrayBuffer> => {
  const out = new Uint8Array(bytes.length - (bytes.length % size));
  for (let at = 0; at < out.length; at += size) {
    for (let n = 0; n < size; n++) out[at + n] = bytes[at + size - 1 - n]!;
  }
  return out;
};

/** Signed 8 bit samples as unsigned ones, as in WAV files. */
export const signedAsUnsigned = (bytes: Uint8Array): Uint8Array => bytes.map((byte) => byte ^ 0x80);
