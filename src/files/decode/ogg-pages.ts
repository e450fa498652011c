/** Codecs of Ogg files. */
type OggCodec = 'vorbis' | 'opus' | 'flac' | 'other';

/** One page of an Ogg file. */
export interface OggPage {
  /** Its first byte, and the one after its last. */
  readonly start: number;
  readonly end: number;
  /** Position of its last sample, in the codec's units; -1 if no packet ends on it. */
  readonly granule: number;
}

const HEADER_BYTES = 27;
const FIRST_PAGE = 2;
const LAST_PAGE = 4;

/** CRC of RFC 3533: polynomial 0x04c11db7, most significant bit first, start 0. */
const CRC_TABLE = Uint32Array.from({ length: 256 }, (_, byte) => {
  let crc = byte << 24;
  for (let bit = 0; bit < 8; bit++) crc = crc & 0x80000000 ? (crc << 1) ^ 0x04c11db7 : crc << 1;
  return crc >>> 0;
});

function pageCrc(page: Uint8Array): number {
  let crc = 0;
  for (let i = 0; i < page.length; i++) {
    const byte = i >= 22 && i < 26 ? 0 : page[i]!; // the place of the CRC itself counts as zero
    crc = (crc << 8) ^ CRC_TABLE[((crc >>> 24) ^ byte) & 0xff]!;
  }
  return crc >>> 0;
}

const isPage = (bytes: Uint8Array, at: number): boolean =>
  at + HEADER_BYTES <= bytes.length &&
  bytes[at] === 0x4f &&
  bytes[at + 1] === 0x67 &&
  bytes[at + 2] === 0x67 &&
  bytes[at + 3] === 0x53 &&
  bytes[at + 4] === 0;

/** Stated size of the page at `at`, bytes; may exceed the rest of the file. */
function pageLength(bytes: Uint8Array, at: number): number {
  const segments = bytes[at + 26]!;
  const table = bytes.subarray(at + HEADER_BYTES, at + HEADER_BYTES + segments);
  return HEADER_BYTES + segments + table.reduce((sum, lacing) => sum + lacing, 0);
}

/** The codec that the first packet names; undefined if `bytes` is no Ogg file. */
export function oggCodecOf(bytes: Uint8Array): OggCodec | undefined {
  if (!isPage(bytes, 0)) return undefined;
  const at = HEADER_BYTES + bytes[26]!;
  const head = String.fromCharCode(...bytes.subarray(at, at + 8));
  if (head.startsWith('\x01vorbis')) return 'vorbis';
  if (head.startsWith('OpusHead')) return 'opus';
  return head.startsWith('\x7fFLAC') ? 'flac' : 'other';
}

/**
 * Walks an Ogg file page by page and checks it: checksums, order, one stream from a first to a last page (RFC 3533).
 *
 * @param refuse makes the error for a fault, from the end of a sentence that starts with "found"
 */
export function oggPagesOf(bytes: Uint8Array, refuse: (found: string) => Error): OggPage[] {
  const pages: OggPage[] = [];
  let serial: number | undefined;
  for (let start = 0; ;) {
    if (!isPage(bytes, start)) {
      throw refuse(start >= bytes.length - HEADER_BYTES ? 'one that is cut short' : `damage at byte ${start}`);
    }
    const end = start + pageLength(bytes, start);
    if (end > bytes.length) throw refuse('one that is cut short');
    const page = bytes.subarray(start, end);
    const view = new DataView(page.buffer, page.byteOffset, page.length);
    if (pageCrc(page) !== view.getUint32(22, true)) throw refuse(`damage at byte ${start}`);
    serial ??= view.getUint32(14, true);
    if (serial !== view.getUint32(14, true)) throw refuse('several streams in it');
    const flags = view.getUint8(5);
    if (view.getUint32(18, true) !== pages.length || ((flags & FIRST_PAGE) !== 0) !== (pages.length === 0)) {
      throw refuse(`a page missing at byte ${start}`);
    }
    pages.push({ start, end, granule: Number(view.getBigInt64(6, true)) });
    start = end;
    if (flags & LAST_PAGE) {
      if (isPage(bytes, start)) throw refuse('several streams in it');
      return pages;
    }
  }
}

/** Whether a packet ends on the page. */
export const endsPacket = (bytes: Uint8Array, { start }: OggPage): boolean =>
  bytes.subarray(start + HEADER_BYTES, start + HEADER_BYTES + bytes[start + 26]!).some((lacing) => lacing < 255);
