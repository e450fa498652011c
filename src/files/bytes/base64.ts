/** Bytes converted in one pass: a whole number of base64 groups. */
const PIECE = 3 * 8192;

/** Bytes as base64 (RFC 4648). */
export const base64Of = (bytes: Uint8Array): string => {
  const pieces: string[] = [];
  for (let from = 0; from < bytes.length; from += PIECE)
    pieces.push(btoa(String.fromCharCode(...bytes.subarray(from, from + PIECE))));
  return pieces.join('');
};
