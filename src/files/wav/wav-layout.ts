import { ProblemError } from '../../session/problem.ts';

/** Sample format of a WAV file. */
export interface WavFormat {
  readonly encoding: 'integer' | 'float';
  /** Bits that one sample takes up in the file: 8, 16, 24 or 32 as integer, 32 or 64 as float. */
  readonly bits: number;
  /** 1 to 8. */
  readonly channels: number;
  /** Hz, 8000 to 384000. */
  readonly sampleRate: number;
}

/** Location of the samples in a WAV file. */
export interface WavLayout {
  readonly format: WavFormat;
  /** First byte of the samples. */
  readonly start: number;
  /** Bytes of samples that the file contains. */
  readonly bytes: number;
}

interface Chunk {
  readonly id: string;
  readonly start: number;
  readonly size: number;
}

export const MAX_CHANNELS = 8;
export const MIN_RATE = 8000;
export const MAX_RATE = 384000;

const TAGS: Readonly<Record<number, string>> = {
  0x02: 'ADPCM',
  0x06: 'A-law',
  0x07: 'mu-law',
  0x11: 'ADPCM',
  0x50: 'MPEG',
  0x55: 'MP3',
};
/** Bytes 2 to 15 of every WAVE_FORMAT_EXTENSIBLE sub-format that stands for a plain format tag. */
export const SUBFORMAT_TAIL = [0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71];

const idAt = (view: DataView, at: number): string =>
  String.fromCharCode(view.getUint8(at), view.getUint8(at + 1), view.getUint8(at + 2), view.getUint8(at + 3));

const unreadable = (name: string, expected: string, found: string): ProblemError =>
  new ProblemError({ code: 'unreadable', path: name, expected, found });

const isName = (view: DataView, at: number): boolean => at + 8 <= view.byteLength && /^[ -~]{4}$/.test(idAt(view, at));

/** Whether the padding byte is missing: a chunk id is at this byte, and none a byte later. */
const startsUnpadded = (view: DataView, at: number): boolean => isName(view, at) && !isName(view, at + 1);

/** Chunks in file order. A `ds64` chunk (EBU Tech 3306, ITU-R BS.2088) gives the size of a `data` chunk over 4 GB. */
function* chunksOf(view: DataView): Generator<Chunk> {
  let longDataSize: number | undefined;
  for (let at = 12; at + 8 <= view.byteLength;) {
    const id = idAt(view, at);
    let size = view.getUint32(at + 4, true);
    if (id === 'ds64' && size >= 16 && at + 24 <= view.byteLength) {
      longDataSize = Number(view.getBigUint64(at + 16, true));
    }
    if (id === 'data' && size === 0xffffffff && longDataSize) size = longDataSize;
    yield { id, start: at + 8, size };
    at += 8 + size;
    if (size % 2 && !startsUnpadded(view, at)) at += 1; // a chunk of odd length is padded by one byte
  }
}

/** Placeholder sizes in headers of files that were written to a pipe. */
const isPlaceholder = (size: number): boolean =>
  (size >= 0x7fffefc0 && size <= 0x80000000) || (size >= 0xffffff00 && size <= 0xffffffff);

/** Format tag; for WAVE_FORMAT_EXTENSIBLE that of its sub-format, or -1 if it has none. */
function tagOf(view: DataView, fmt: Chunk): number {
  const tag = view.getUint16(fmt.start, true);
  if (tag !== 0xfffe) return tag;
  if (fmt.size < 40 || fmt.start + 40 > view.byteLength) return -1;
  const plain = SUBFORMAT_TAIL.every((byte, i) => view.getUint8(fmt.start + 26 + i) === byte);
  return plain ? view.getUint16(fmt.start + 24, true) : -1;
}

function formatOf(view: DataView, fmt: Chunk, name: string): WavFormat {
  if (fmt.size < 16 || fmt.start + 16 > view.byteLength) {
    throw unreadable(
      name,
      'a WAV file with a whole format chunk',
      'one that is cut short; copy or export the file again',
    );
  }
  const tag = tagOf(view, fmt);
  if (tag !== 1 && tag !== 3) {
    const coding = TAGS[tag] ?? (tag < 0 ? 'an unknown sub-format' : `format tag ${tag}`);
    throw unreadable(name, 'a WAV file holding integer or float samples', `one coded as ${coding}`);
  }
  const channels = view.getUint16(fmt.start + 2, true);
  const sampleRate = view.getUint32(fmt.start + 4, true);
  if (channels < 1 || channels > MAX_CHANNELS) throw unreadable(name, `1 to ${MAX_CHANNELS} channels`, `${channels}`);
  if (sampleRate < MIN_RATE || sampleRate > MAX_RATE) {
    throw unreadable(name, `a sample rate from ${MIN_RATE} to ${MAX_RATE} Hz`, `${sampleRate} Hz`);
  }
  // The container size of a sample is used, not its valid bits: those are the upper ones, so the scale is the same.
  const bits = (8 * view.getUint16(fmt.start + 12, true)) / channels;
  const possible = tag === 3 ? [32, 64] : [8, 16, 24, 32];
  if (!possible.includes(bits)) {
    const kind = tag === 3 ? 'float' : 'integer';
    throw unreadable(
      name,
      `${kind} samples of ${possible.join(', ').replace(/, (\d+)$/, ' or $1')} bits`,
      `${bits} bits`,
    );
  }
  return { encoding: tag === 3 ? 'float' : 'integer', bits, channels, sampleRate };
}

/** Bytes of samples. @throws ProblemError for a file that contains fewer than its header says */
function dataBytes(view: DataView, data: Chunk, size: number, name: string): number {
  const there = size - data.start;
  const riffEnd = 8 + view.getUint32(4, true);
  const open = data.size === 0 && (riffEnd <= data.start || riffEnd > size);
  if (open || (data.size > there && isPlaceholder(data.size))) return there;
  if (data.size > there) {
    const missing = data.size - there;
    throw unreadable(
      name,
      `${data.size} bytes of samples, as its header says`,
      `${there} (${missing} missing): the file is cut short, so copy or export it again`,
    );
  }
  return data.size;
}

/**
 * Finds format and samples of a RIFF, RF64 or BW64 WAV file. Chunks may be in any order, and other chunks
 * are skipped. The samples of a file written to a pipe, whose header has no true size, reach to its end.
 *
 * @param bytes the file, or its beginning up to the first samples
 * @param name what messages call the file
 * @param size bytes in the whole file
 * @throws ProblemError if it is not a WAV file, is cut short, or has an unsupported format
 */
export function wavLayoutOf(bytes: Uint8Array, name: string, size = bytes.byteLength): WavLayout {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const isWav = bytes.length >= 12 && ['RIFF', 'RF64', 'BW64'].includes(idAt(view, 0)) && idAt(view, 8) === 'WAVE';
  if (!isWav) throw unreadable(name, 'a WAV file', bytes.length === 0 ? 'an empty file' : 'a file of another kind');
  let fmt: Chunk | undefined;
  let data: Chunk | undefined;
  for (const chunk of chunksOf(view)) {
    if (chunk.id === 'fmt ') fmt ??= chunk;
    if (chunk.id === 'data') data ??= chunk;
    if (fmt && data) break;
  }
  if (!fmt) throw unreadable(name, 'a WAV file with a format chunk', 'none; copy or export the file again');
  const format = formatOf(view, fmt, name);
  if (!data) throw unreadable(name, 'a WAV file with samples', 'no data chunk; copy or export the file again');
  return { format, start: data.start, bytes: dataBytes(view, data, size, name) };
}

/** Bytes at the beginning of a file that must contain its format and the start of its samples. */
export const HEADER = 2 ** 16;

/** Whether the chunk of samples begins in `header`, after the format. */
export function samplesStartIn(header: Uint8Array): boolean {
  const view = new DataView(header.buffer, header.byteOffset, header.byteLength);
  const named = (at: number, name: string): boolean => [...name].every((c, n) => header[at + n] === c.charCodeAt(0));
  let format = false;
  for (let at = 12; at + 8 <= header.length;) {
    if (named(at, 'data')) return format;
    format ||= named(at, 'fmt ');
    const size = view.getUint32(at + 4, true);
    at += 8 + size + (size % 2);
  }
  return false;
}
