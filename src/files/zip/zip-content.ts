import { Inflate } from 'fflate';
import { RunningCrc } from './running-crc.ts';
import { brokenZip, type ReadableAt, type ZipEntry } from './zip-read.ts';

/** Packed bytes per read. */
const PACKED_PIECE = 2 ** 16;
/** Packed bytes per step of unpacking: up to a thousand times as many unpacked bytes are in memory at once. */
const INFLATED_PIECE = 2 ** 12;
const STORED_PIECE = 2 ** 20;

/** The packed bytes of an entry. */
async function* packed(file: ReadableAt, { start, packedBytes }: ZipEntry, piece: number): AsyncGenerator<Uint8Array> {
  for (let at = 0; at < packedBytes; at += piece)
    yield await file.read(start + at, start + Math.min(at + piece, packedBytes));
}

/** @throws what the library throws where they cannot be unpacked */
async function* inflated(file: ReadableAt, entry: ZipEntry): AsyncGenerator<Uint8Array> {
  const pieces: Uint8Array[] = [];
  const inflate = new Inflate((piece) => void pieces.push(piece));
  for await (const bytes of packed(file, entry, PACKED_PIECE)) {
    for (let at = 0; at < bytes.length; at += INFLATED_PIECE) {
      inflate.push(bytes.subarray(at, at + INFLATED_PIECE));
      // The caller stops where there are more bytes than stated.
      yield* pieces.splice(0);
    }
  }
  inflate.push(new Uint8Array(), true);
  yield* pieces;
}

/**
 * Content of an entry, piece by piece.
 *
 * @param path what messages call the zip
 * @throws ProblemError where its size or CRC-32 differs from that in the zip, or it cannot be unpacked
 */
export async function* zipContent(file: ReadableAt, entry: ZipEntry, path: string): AsyncGenerator<Uint8Array> {
  const damaged = brokenZip(path, `${entry.name}, which is damaged`);
  const crc = await RunningCrc.begin();
  const pieces = crc.of(entry.isDeflated ? inflated(file, entry) : packed(file, entry, STORED_PIECE));
  for (;;) {
    // The library's own messages are not meant for users.
    const next = await pieces.next().catch(() => {
      throw damaged;
    });
    if (next.done) break;
    if (crc.bytes > entry.bytes) throw damaged;
    yield next.value;
  }
  if (crc.bytes !== entry.bytes || crc.value() !== entry.crc32) throw damaged;
}
