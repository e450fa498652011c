import type { Audio } from '../../audio/audio.ts';
import { ProblemError } from '../../session/problem.ts';
import { extendedAt, textAt, type ChunkPlace } from './big-endian.ts';
import { audioOfPlain, requirePlain } from '../decode/plain-samples.ts';
import type { WavFormat } from '../wav/wav-layout.ts';
import { strideOf } from '../wav/wav-samples.ts';

/** Sample format of an AIFC compression type; `bits` where the type determines it instead of the header. */
interface Coding {
  readonly encoding: WavFormat['encoding'];
  readonly isBigEndian: boolean;
  readonly isSigned: boolean;
  readonly bits?: number;
}

const PLAIN: Coding = { encoding: 'integer', isBigEndian: true, isSigned: true };

/** Compression types of AIFC that are plain numbers (AIFF-C draft of 1991 and the types in use since; from memory). */
const CODINGS: Readonly<Record<string, Coding>> = {
  NONE: PLAIN,
  twos: PLAIN,
  sowt: { ...PLAIN, isBigEndian: false },
  'raw ': { ...PLAIN, isSigned: false, bits: 8 },
  in24: { ...PLAIN, bits: 24 },
  in32: { ...PLAIN, bits: 32 },
  '42ni': { ...PLAIN, isBigEndian: false, bits: 24 },
  '23ni': { ...PLAIN, isBigEndian: false, bits: 32 },
  fl32: { ...PLAIN, encoding: 'float', bits: 32 },
  FL32: { ...PLAIN, encoding: 'float', bits: 32 },
  fl64: { ...PLAIN, encoding: 'float', bits: 64 },
  FL64: { ...PLAIN, encoding: 'float', bits: 64 },
};

/** The first chunk of each kind; one of odd length is padded by one byte. */
const chunksOf = (view: DataView): ReadonlyMap<string, ChunkPlace> => {
  const chunks = new Map<string, ChunkPlace>();
  for (let at = 12; at + 8 <= view.byteLength;) {
    const id = textAt(view, at);
    const size = view.getUint32(at + 4);
    if (!chunks.has(id)) chunks.set(id, { start: at + 8, size });
    at += 8 + size + (size % 2);
  }
  return chunks;
};

const unreadable = (name: string, expected: string, found: string): ProblemError =>
  new ProblemError({ code: 'unreadable', path: name, expected, found });

/**
 * Reads an AIFF or AIFC file of plain numbers (AIFF 1.3 of 1989: chunks COMM and SSND): integers of 1 to 32 bits, which
 * are in the upper bits of whole bytes, and float, at 8 to 384 kHz.
 *
 * @param bytes the whole file
 * @param name what messages call the file
 * @throws ProblemError if the file cannot be read, is cut short, or uses an unsupported coding
 */
export const readAiff = (bytes: Uint8Array, name: string): Audio => {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const isCompressible = textAt(view, 8) === 'AIFC';
  const chunks = chunksOf(view);
  const common = chunks.get('COMM');
  const sound = chunks.get('SSND');
  if (!common || common.start + (isCompressible ? 22 : 18) > bytes.length) {
    throw unreadable(name, 'an AIFF file with a whole common chunk', 'none; copy or export the file again');
  }
  const type = isCompressible ? textAt(view, common.start + 18) : 'NONE';
  const coding = CODINGS[type];
  if (!coding) throw unreadable(name, 'an AIFF file holding integer or float samples', `one coded as "${type}"`);
  const format: WavFormat = {
    encoding: coding.encoding,
    bits: coding.bits ?? 8 * Math.ceil(view.getUint16(common.start + 6) / 8),
    channels: view.getUint16(common.start),
    sampleRate: extendedAt(view, common.start + 8),
  };
  requirePlain(format, name, format.encoding);
  const frames = view.getUint32(common.start + 2);
  if (!sound || sound.start + 8 > bytes.length) {
    throw unreadable(name, 'an AIFF file with samples', 'no sound chunk; copy or export the file again');
  }
  const start = sound.start + 8 + view.getUint32(sound.start);
  const wanted = frames * strideOf(format);
  const there = Math.max(0, bytes.length - start);
  if (there < wanted) {
    const found = `${there} (${wanted - there} missing): the file is cut short, so copy or export it again`;
    throw unreadable(name, `${wanted} bytes of samples, as its header says`, found);
  }
  const { isBigEndian, isSigned } = coding;
  return audioOfPlain({ format, isBigEndian, isSigned, bytes: bytes.subarray(start, start + wanted) }, name);
};
