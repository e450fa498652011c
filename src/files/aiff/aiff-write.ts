import { ProblemError } from '../../session/problem.ts';
import { withBytesReversed } from './big-endian.ts';
import { joinedBytes } from '../bytes/joined-bytes.ts';
import { sampleBytesOf } from '../wav/wav-head.ts';
import type { WavFormat } from '../wav/wav-layout.ts';
import type { CuePoint } from '../wav/wav-tags.ts';

/** The largest size that an AIFF header can state, bytes. */
const LARGEST = 0xffffffff;
/** Version time stamp of AIFF-C of 1991. */
const AIFC_VERSION = 0xa2805140;

const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);

const chunkOf = (id: string, content: Uint8Array): Uint8Array => {
  const bytes = new Uint8Array(8 + content.length + (content.length % 2));
  bytes.set(bytesOf(id));
  new DataView(bytes.buffer).setUint32(4, content.length);
  bytes.set(content, 8);
  return bytes;
};

/** A Pascal string: length byte, up to 255 bytes of text, padded to an even length. */
const shortText = (text: string): Uint8Array => {
  let kept = text;
  while (bytesOf(kept).length > 255) kept = kept.slice(0, -1);
  const letters = bytesOf(kept);
  const bytes = new Uint8Array(1 + letters.length + ((1 + letters.length) % 2));
  bytes[0] = letters.length;
  bytes.set(letters, 1);
  return bytes;
};

/** A whole number as an 80 bit extended float, as AIFF writes rates (IEEE 754). */
const extended = (value: number): Uint8Array => {
  const exponent = Math.floor(Math.log2(value));
  const view = new DataView(new ArrayBuffer(10));
  view.setUint16(0, 16383 + exponent);
  view.setBigUint64(2, BigInt(value) << BigInt(63 - exponent));
  return new Uint8Array(view.buffer);
};

const commonChunk = ({ encoding, bits, channels, sampleRate }: WavFormat, frames: number): Uint8Array => {
  const view = new DataView(new ArrayBuffer(8));
  view.setUint16(0, channels);
  view.setUint32(2, frames);
  view.setUint16(6, bits);
  const coding = encoding === 'float' ? [bytesOf('fl32'), shortText('32 bit float')] : [];
  return chunkOf('COMM', joinedBytes([new Uint8Array(view.buffer), extended(sampleRate), ...coding]));
};

const markerChunk = (points: readonly CuePoint[]): Uint8Array[] => {
  if (points.length === 0) return [];
  const count = new DataView(new ArrayBuffer(2));
  count.setUint16(0, points.length);
  const markers = points.map(({ frame, name }, n) => {
    const place = new DataView(new ArrayBuffer(6));
    place.setUint16(0, n + 1);
    place.setUint32(2, frame);
    return joinedBytes([new Uint8Array(place.buffer), shortText(name)]);
  });
  return [chunkOf('MARK', joinedBytes([new Uint8Array(count.buffer), ...markers]))];
};

/** @throws ProblemError where the frames do not fit into an AIFF file, with 1 MB for all other chunks */
export const requireAiffSize = (format: WavFormat, frames: number): void => {
  const bytes = sampleBytesOf(format, frames);
  if (bytes + 2 ** 20 <= LARGEST) return;
  const expected = 'less than 4 GB of samples (WAV and FLAC hold more)';
  throw new ProblemError({ code: 'mismatch', path: 'An AIFF file', expected, found: `${(bytes / 1e9).toFixed(1)} GB` });
};

/** Samples in the byte order of WAV, converted to that of AIFF. */
export const aiffSamples = (format: WavFormat, bytes: Uint8Array): Uint8Array<ArrayBuffer> =>
  withBytesReversed(bytes, format.bits / 8);

/**
 * Everything before the samples of an AIFF file (AIFF 1.3 of 1989; AIFF-C of 1991 for float): names and markers included. Samples of an odd number of
 * bytes need a padding byte after them.
 * @param frames within the limit of `requireAiffSize`
 */
export const aiffHead = (
  format: WavFormat,
  frames: number,
  { name, author, markers }: { readonly name: string; readonly author: string; readonly markers: readonly CuePoint[] },
): Uint8Array<ArrayBuffer> => {
  const isFloat = format.encoding === 'float';
  const version = new DataView(new ArrayBuffer(4));
  version.setUint32(0, AIFC_VERSION);
  const chunks = [
    ...(isFloat ? [chunkOf('FVER', new Uint8Array(version.buffer))] : []),
    commonChunk(format, frames),
    ...markerChunk(markers),
    chunkOf('NAME', bytesOf(name)),
    ...(author === '' ? [] : [chunkOf('AUTH', bytesOf(author))]),
  ];
  const samples = sampleBytesOf(format, frames);
  const sound = new DataView(new ArrayBuffer(16)); // no offset, no blocks
  bytesOf('SSND').forEach((byte, i) => sound.setUint8(i, byte));
  sound.setUint32(4, 8 + samples);
  const before = joinedBytes([bytesOf(isFloat ? 'AIFC' : 'AIFF'), ...chunks, new Uint8Array(sound.buffer)]);
  const form = new DataView(new ArrayBuffer(8));
  bytesOf('FORM').forEach((byte, i) => form.setUint8(i, byte));
  form.setUint32(4, before.length + samples + (samples % 2));
  return joinedBytes([new Uint8Array(form.buffer), before]);
};
