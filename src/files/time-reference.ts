/** Bytes of a `bext` chunk before its time reference: description, originator, its reference, date and time. */
const BEFORE = 256 + 32 + 32 + 10 + 8;

/**
 * Samples since midnight at which a broadcast WAV file starts (`bext` chunk, EBU Tech 3285 and, in RF64 and BW64,
 * ITU-R BS.2088); null where the file has none, or is no WAV file.
 *
 * @param bytes the file, or as much of it as holds the chunk; it may stand behind the samples
 */
export const timeReferenceOf = (bytes: Uint8Array): number | null => {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const named = (at: number, name: string): boolean => [...name].every((c, n) => bytes[at + n] === c.charCodeAt(0));
  if (!named(8, 'WAVE') || !['RIFF', 'RF64', 'BW64'].some((form) => named(0, form))) return null;
  let longData = 0;
  for (let at = 12; at + 8 <= bytes.length;) {
    let size = view.getUint32(at + 4, true);
    if (named(at, 'ds64') && at + 24 <= bytes.length) longData = Number(view.getBigUint64(at + 16, true));
    if (named(at, 'data') && size === 0xffffffff) size = longData;
    const place = at + 8 + BEFORE;
    if (named(at, 'bext') && size >= BEFORE + 8 && place + 8 <= bytes.length) {
      return view.getUint32(place, true) + 2 ** 32 * view.getUint32(place + 4, true);
    }
    at += 8 + size + (size % 2);
  }
  return null;
};
