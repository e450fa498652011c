/** Bytes that an ID3v2 tag takes up at the start of a file; 0 if there is none. */
export function id3Length(bytes: Uint8Array): number {
  if (bytes.length < 10 || bytes[0] !== 0x49 || bytes[1] !== 0x44 || bytes[2] !== 0x33) return 0;
  const [a, b, c, d] = bytes.subarray(6, 10);
  const body = ((a! & 0x7f) << 21) | ((b! & 0x7f) << 14) | ((c! & 0x7f) << 7) | (d! & 0x7f);
  const footer = bytes[5]! & 0x10 ? 10 : 0;
  return Math.min(10 + body + footer, bytes.length);
}
