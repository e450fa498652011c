import { bytesInMemory, type ByteSource } from '../byte-source.ts';

/** Bytes of a `bext` chunk before its time reference: description, originator, originator reference, date and time. */
const BEFORE = 256 + 32 + 32 + 10 + 8;

/** Bytes of a chunk that are read: its header, and a `bext` chunk up to the end of its time reference. */
const LOOKED_AT = 8 + BEFORE + 8;

/**
 * Samples since midnight at which a broadcast WAV file starts (`bext` chunk, EBU Tech 3285 and, in RF64 and BW64,
 * ITU-R BS.2088); null where the file has none, or is not a WAV file. No samples are read; the chunk may follow them.
 *
 * @throws ProblemError where the bytes cannot be read
 */
export const timeReferenceIn = (source: ByteSource): number | null => {
  const part = (at: number): DataView => {
    const bytes = source.bytes(at, Math.min(LOOKED_AT, source.size - at));
    return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  };
  const named = (view: DataView, at: number, name: string): boolean =>
    view.byteLength >= at + 4 && [...name].every((c, n) => view.getUint8(at + n) === c.charCodeAt(0));
  const head = part(0);
  if (!named(head, 8, 'WAVE') || !['RIFF', 'RF64', 'BW64'].some((form) => named(head, 0, form))) return null;
  let longData = 0;
  for (let at = 12; at + 8 <= source.size;) {
    const chunk = part(at);
    let size = chunk.getUint32(4, true);
    if (named(chunk, 0, 'ds64') && chunk.byteLength >= 24) longData = Number(chunk.getBigUint64(16, true));
    if (named(chunk, 0, 'data') && size === 0xffffffff) size = longData;
    const place = 8 + BEFORE;
    if (named(chunk, 0, 'bext') && size >= BEFORE + 8 && place + 8 <= chunk.byteLength)
      return chunk.getUint32(place, true) + 2 ** 32 * chunk.getUint32(place + 4, true);
    at += 8 + size + (size % 2);
  }
  return null;
};

/** The same for a file in memory, or its part that contains the chunk. */
export const timeReferenceOf = (bytes: Uint8Array): number | null => timeReferenceIn(bytesInMemory(bytes));
