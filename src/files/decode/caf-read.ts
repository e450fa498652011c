import type { Audio } from '../../audio/audio.ts';
import { ProblemError } from '../../session/problem.ts';
import { textAt, type ChunkPlace } from '../aiff/big-endian.ts';
import { audioOfPlain, requirePlain } from './plain-samples.ts';
import type { WavFormat } from '../wav/wav-layout.ts';
import { strideOf } from '../wav/wav-samples.ts';

const FLOAT = 1;
const LITTLE_ENDIAN = 2;

const unreadable = (name: string, expected: string, found: string): ProblemError =>
  new ProblemError({ code: 'unreadable', path: name, expected, found });

/** Chunks by kind, the first of each; a size of -1 (only the samples may have it) reaches to the end of the file. */
const chunksOf = (view: DataView): ReadonlyMap<string, ChunkPlace> => {
  const chunks = new Map<string, ChunkPlace>();
  for (let at = 8; at + 12 <= view.byteLength;) {
    const declared = Number(view.getBigInt64(at + 4));
    const size = declared < 0 ? view.byteLength - at - 12 : declared;
    const id = textAt(view, at);
    if (!chunks.has(id)) chunks.set(id, { start: at + 12, size });
    at += 12 + size;
  }
  return chunks;
};

/**
 * Reads a Core Audio Format file of linear PCM (the format's public specification 1.0, from memory): integer of 8 to 32
 * bits or float, either order of bytes, packed, 8 to 384 kHz.
 *
 * @param bytes the whole file
 * @param name what messages call the file
 * @throws ProblemError if the file cannot be read, is cut short, or uses an unsupported coding
 */
export const readCaf = (bytes: Uint8Array, name: string): Audio => {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const chunks = chunksOf(view);
  const described = chunks.get('desc');
  if (!described || described.size < 32 || described.start + 32 > bytes.length) {
    throw unreadable(name, 'a CAF file with a whole description chunk', 'none; copy or export the file again');
  }
  const at = described.start;
  const coding = textAt(view, at + 8);
  if (coding !== 'lpcm') {
    throw unreadable(name, 'a CAF file holding integer or float samples', `one coded as "${coding}"; export it as WAV`);
  }
  const flags = view.getUint32(at + 12);
  const format: WavFormat = {
    encoding: flags & FLOAT ? 'float' : 'integer',
    bits: view.getUint32(at + 28),
    channels: view.getUint32(at + 24),
    sampleRate: view.getFloat64(at),
  };
  requirePlain(format, name, format.encoding);
  const packet = view.getUint32(at + 16);
  if (packet !== strideOf(format)) {
    throw unreadable(name, `${strideOf(format)} bytes for a packet of ${format.bits} bit samples`, `${packet}`);
  }
  const data = chunks.get('data');
  if (!data || data.start + 4 > bytes.length) {
    throw unreadable(name, 'a CAF file with samples', 'no data chunk; copy or export the file again');
  }
  const end = data.start + data.size;
  if (end > bytes.length) {
    const found = `${bytes.length - data.start} (the file is cut short, so copy or export it again)`;
    throw unreadable(name, `${data.size} bytes of samples, as its header says`, found);
  }
  // The first four bytes are an edit count.
  const samples = bytes.subarray(data.start + 4, end);
  return audioOfPlain({ format, isBigEndian: !(flags & LITTLE_ENDIAN), isSigned: true, bytes: samples }, name);
};
