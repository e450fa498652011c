/** Rebuilds Ogg files for the tests of the decoders: headers that the encoder at hand does not write. */

const HEADER = 27;

/** CRC of RFC 3533, bit by bit: slow, and written apart from the one that it checks. */
function crcOf(bytes: Uint8Array): number {
  let crc = 0;
  for (const byte of bytes) {
    crc ^= byte << 24;
    for (let bit = 0; bit < 8; bit++) crc = crc < 0 ? (crc << 1) ^ 0x04c11db7 : crc << 1;
  }
  return crc >>> 0;
}

function sealed(page: Uint8Array, sequence: number): Uint8Array {
  const view = new DataView(page.buffer, page.byteOffset);
  view.setUint32(18, sequence, true);
  view.setUint32(22, 0, true);
  view.setUint32(22, crcOf(page), true);
  return page;
}

function pagesOf(bytes: Uint8Array): Uint8Array[] {
  const pages: Uint8Array[] = [];
  for (let at = 0; at < bytes.length; at += pages.at(-1)!.length) {
    const segments = bytes[at + HEADER - 1]!;
    const body = bytes.subarray(at + HEADER, at + HEADER + segments).reduce((sum, lacing) => sum + lacing, 0);
    pages.push(bytes.slice(at, at + HEADER + segments + body));
  }
  return pages;
}

const joined = (pages: readonly Uint8Array[]): Uint8Array =>
  Uint8Array.from(pages.map((page, i) => [...sealed(page, i)]).flat());

/** An Opus file with an output gain of whole `db` in its header. */
export function withOpusGain(bytes: Uint8Array, db: number): Uint8Array {
  const pages = pagesOf(bytes);
  new DataView(pages[0]!.buffer).setInt16(28 + 16, db * 256, true);
  return joined(pages);
}

/** An Opus file whose comment packet is filled up to `length` bytes, over as many pages as that takes. */
export function withLongComments(bytes: Uint8Array, length: number): Uint8Array {
  const [head, comments, ...audio] = pagesOf(bytes);
  const packet = new Uint8Array(length).fill(0x5a);
  packet.set(comments!.subarray(HEADER + comments![HEADER - 1]!));
  const pages: Uint8Array[] = [];
  for (let at = 0; at < length; at += 255 * 255) {
    const body = packet.subarray(at, at + 255 * 255);
    const full = Math.floor(body.length / 255);
    const lacing =
      at + body.length < length ? Array<number>(255).fill(255) : [...Array<number>(full).fill(255), body.length % 255];
    const page = Uint8Array.from([...comments!.subarray(0, HEADER), ...lacing, ...body]);
    page[5] = at === 0 ? 0 : 1; // the packet goes on from the page before
    page[HEADER - 1] = lacing.length;
    pages.push(page);
  }
  return joined([head!, ...pages, ...audio]);
}
