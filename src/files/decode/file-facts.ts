import { audioKindOf, type AudioKind } from './audio-kind.ts';
import { textAt } from '../aiff/big-endian.ts';
import { id3Length } from '../mp3/id3.ts';
import type { ByteSource } from '../byte-source.ts';
import { timeReferenceIn } from '../wav/time-reference.ts';
import { HEADER, samplesStartIn, wavLayoutOf } from '../wav/wav-layout.ts';

/** Facts in the header of a sound file. */
export interface FileFacts {
  readonly kind: AudioKind;
  /** Bits of a sample; null where the format has none (lossy). */
  readonly bits: number | null;
  readonly isFloat: boolean;
  /** True for lossy coding. */
  readonly isLossy: boolean;
  /** Start time in samples since midnight; null where the file has none. */
  readonly timeReference: number | null;
}

const LOSSY: readonly AudioKind[] = ['mp3', 'ogg-vorbis', 'ogg-opus'];

const view = (bytes: Uint8Array): DataView => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);

/** Byte offset of the content of a chunk of an AIFF file; -1: there is none. */
const aiffChunk = (bytes: Uint8Array, id: string): number => {
  const data = view(bytes);
  for (let at = 12; at + 8 <= bytes.length;) {
    if (textAt(data, at) === id) return at + 8;
    const size = data.getUint32(at + 4);
    at += 8 + size + (size % 2);
  }
  return -1;
};

const bitsOf = (
  bytes: Uint8Array,
  kind: AudioKind,
  size: number,
): { readonly bits: number | null; readonly isFloat: boolean } => {
  if (kind === 'wav') {
    const { bits, encoding } = wavLayoutOf(bytes, 'file', size).format;
    return { bits, isFloat: encoding === 'float' };
  }
  if (kind === 'aiff') {
    const at = aiffChunk(bytes, 'COMM');
    const type = textAt(view(bytes), 8) === 'AIFC' ? textAt(view(bytes), at + 18).toLowerCase() : 'none';
    return { bits: view(bytes).getUint16(at + 6), isFloat: type.startsWith('fl') };
  }
  // CAF has its description first; FLAC its stream information, after `fLaC` and a header of 4 bytes.
  if (kind === 'caf') return { bits: view(bytes).getUint32(48), isFloat: (view(bytes).getUint32(32) & 1) === 1 };
  if (kind === 'flac') {
    const at = id3Length(bytes) + 8 + 12;
    return { bits: ((view(bytes).getUint16(at) >> 4) & 0x1f) + 1, isFloat: false };
  }
  return { bits: null, isFloat: false };
};

/** The part of a file that contains its header: the beginning of a WAV file whose samples start there, all of any other file. */
export const headOf = (source: ByteSource): Uint8Array => {
  const head = source.bytes(0, Math.min(HEADER, source.size));
  return audioKindOf(head) === 'wav' && samplesStartIn(head) ? head : source.bytes(0, source.size);
};

/**
 * The facts in the header of a file that can be decoded; null where its kind is not supported.
 * @param head of `source`, as `headOf` gives it
 * @throws ProblemError where the bytes cannot be read
 */
export const fileFactsOf = (head: Uint8Array, source: ByteSource): FileFacts | null => {
  const kind = audioKindOf(head);
  if (!kind) return null;
  const timeReference = timeReferenceIn(source);
  return { kind, ...bitsOf(head, kind, source.size), isLossy: LOSSY.includes(kind), timeReference };
};
