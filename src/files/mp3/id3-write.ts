import { joinedBytes } from '../bytes/joined-bytes.ts';

/** A "synchsafe" size of ID3: four bytes of seven bits each. */
const sizeBytes = (size: number): number[] => [21, 14, 7, 0].map((shift) => (size >> shift) & 0x7f);

const frameOf = ([id, text]: readonly [string, string]): Uint8Array => {
  const letters = new TextEncoder().encode(text);
  // Ten bytes of head, and 3 for UTF-8.
  const head = [...new TextEncoder().encode(id), ...sizeBytes(1 + letters.length), 0, 0, 3];
  return joinedBytes([Uint8Array.from(head), letters]);
};

/** Metadata of an MP3 file. */
export interface Mp3Facts {
  readonly title: string;
  readonly artist: string;
  /** BPM; null: the tempo changes. */
  readonly tempo: number | null;
}

/** The tag at the beginning of an MP3 file (ID3v2.4.0 of 2000): title, artist, and the tempo where it is a whole number, as the tag requires. */
export const id3Tag = ({ title, artist, tempo }: Mp3Facts): Uint8Array<ArrayBuffer> => {
  const told: readonly (readonly [string, string])[] = [
    ['TIT2', title],
    ...(artist === '' ? [] : ([['TPE1', artist]] as const)),
    ...(tempo === null || !Number.isInteger(tempo) ? [] : ([['TBPM', String(tempo)]] as const)),
  ];
  const frames = joinedBytes(told.map(frameOf));
  const head = [...new TextEncoder().encode('ID3'), 4, 0, 0, ...sizeBytes(frames.length)];
  return joinedBytes([Uint8Array.from(head), frames]);
};
