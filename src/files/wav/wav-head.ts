import { joinedBytes } from '../bytes/joined-bytes.ts';
import { SUBFORMAT_TAIL, type WavFormat } from './wav-layout.ts';

/** One chunk of a RIFF file. */
export interface WavChunk {
  /** Four letters. */
  readonly id: string;
  readonly content: Uint8Array;
}

/** The largest 32 bit size; a larger file is RF64 (EBU Tech 3306, ITU-R BS.2088). */
const LARGEST = 0xffffffff;

/** Speaker masks: front centre; front left and right. For more channels the speakers are not known: 0. */
const SPEAKERS: Readonly<Record<number, number>> = { 1: 0x4, 2: 0x3 };

const asciiOf = (text: string): Uint8Array => Uint8Array.from(text, (letter) => letter.charCodeAt(0));

/** A chunk with its name and size, padded to an even length. `told` is the size in its header, where that differs. */
const chunkBytes = ({ id, content }: WavChunk, told = content.length): Uint8Array => {
  const bytes = new Uint8Array(8 + content.length + (content.length % 2));
  bytes.set(asciiOf(id));
  new DataView(bytes.buffer).setUint32(4, told, true);
  bytes.set(content, 8);
  return bytes;
};

/** The format chunk: plain for 16 bit mono and stereo, with an extension size for float, else extensible. */
const formatSize = ({ encoding, bits, channels }: WavFormat): number => {
  if (channels > 2 || bits === 24) return 40;
  return encoding === 'float' ? 18 : 16;
};

const formatChunk = (format: WavFormat): WavChunk => {
  const { encoding, bits, channels, sampleRate } = format;
  const size = formatSize(format);
  const tag = encoding === 'float' ? 3 : 1;
  const frameBytes = (channels * bits) / 8;
  const view = new DataView(new ArrayBuffer(size));
  view.setUint16(0, size === 40 ? 0xfffe : tag, true);
  view.setUint16(2, channels, true);
  view.setUint32(4, sampleRate, true);
  view.setUint32(8, sampleRate * frameBytes, true);
  view.setUint16(12, frameBytes, true);
  view.setUint16(14, bits, true);
  if (size === 40) {
    view.setUint16(16, 22, true);
    view.setUint16(18, bits, true);
    view.setUint32(20, SPEAKERS[channels] ?? 0, true);
    view.setUint16(24, tag, true);
    SUBFORMAT_TAIL.forEach((byte, i) => view.setUint8(26 + i, byte));
  } // else the extension of float has no bytes, as the zero already there says
  return { id: 'fmt ', content: new Uint8Array(view.buffer) };
};

/** Frames of a file whose samples are not plain integers. */
const factChunk = (frames: number): WavChunk => {
  const content = new Uint8Array(4);
  new DataView(content.buffer).setUint32(0, Math.min(frames, LARGEST), true);
  return { id: 'fact', content };
};

/** The `ds64` chunk: sizes beyond 32 bits. */
const ds64Chunk = (riffBytes: number, dataBytes: number, frames: number): WavChunk => {
  const view = new DataView(new ArrayBuffer(28));
  [riffBytes, dataBytes, frames].forEach((size, n) => view.setBigUint64(8 * n, BigInt(size), true));
  return { id: 'ds64', content: new Uint8Array(view.buffer) };
};

/** Zero bytes after samples of so many bytes: a chunk has an even length. */
export const paddingOf = (dataBytes: number): Uint8Array<ArrayBuffer> => new Uint8Array(dataBytes % 2);

export const sampleBytesOf = ({ bits, channels }: WavFormat, frames: number): number => (frames * channels * bits) / 8;

/**
 * Everything before the samples of a WAV file: RIFF, or RF64 where the file takes 4 GiB or more.
 * @param more chunks between format and samples
 */
export const wavHead = (format: WavFormat, frames: number, more: readonly WavChunk[] = []): Uint8Array<ArrayBuffer> => {
  const dataBytes = sampleBytesOf(format, frames);
  const chunks = [formatChunk(format), ...(format.encoding === 'float' ? [factChunk(frames)] : []), ...more].map(
    (chunk) => chunkBytes(chunk),
  );
  const padded = dataBytes + (dataBytes % 2);
  // "WAVE", all chunks, and the head of the samples.
  const riffBytes = 4 + chunks.reduce((sum, { length }) => sum + length, 0) + 8 + padded;
  const isLong = riffBytes > LARGEST;
  const sizes = isLong ? [chunkBytes(ds64Chunk(riffBytes + 8 + 28, dataBytes, frames))] : [];
  const form = new Uint8Array(12);
  form.set(asciiOf(isLong ? 'RF64' : 'RIFF'));
  form.set(asciiOf('WAVE'), 8);
  new DataView(form.buffer).setUint32(4, isLong ? LARGEST : riffBytes, true);
  const samples = chunkBytes({ id: 'data', content: new Uint8Array() }, isLong ? LARGEST : dataBytes);
  return joinedBytes([form, ...sizes, ...chunks, samples]);
};
