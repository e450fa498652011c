import { id3Length } from './id3.ts';

/** Header of an MPEG layer III frame (ISO/IEC 11172-3 and 13818-3). */
interface FrameHeader {
  readonly version: 1 | 2 | 2.5;
  readonly sampleRate: number;
  readonly mono: boolean;
  /** Bytes of the whole frame. */
  readonly length: number;
}

/** The sequence of frames of an MP3 file. */
interface Mp3Frames {
  /** First byte of the first frame, and the byte after the last. */
  readonly start: number;
  readonly end: number;
  readonly frames: number;
  readonly sampleRate: number;
  /** True if every frame has one channel. */
  readonly mono: boolean;
  /** Frames of audio that the information frame at the start announces, where there is one. */
  readonly announced: number | undefined;
  /** Byte offset of a break: the last frame is cut, or other data lies between frames. */
  readonly brokenAt: number | undefined;
}

const KBITS_V1 = [0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320];
const KBITS_V2 = [0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160];
const RATES_V1 = [44100, 48000, 32000];
/** Bytes after a tag within which the first frame is searched: some writers leave padding there. */
const SEARCH_BYTES = 65536;

function headerAt(bytes: Uint8Array, at: number): FrameHeader | undefined {
  if (at + 4 > bytes.length || bytes[at] !== 0xff || (bytes[at + 1]! & 0xe6) !== 0xe2) return undefined;
  const versionBits = (bytes[at + 1]! >> 3) & 3;
  const version = versionBits === 3 ? 1 : versionBits === 2 ? 2 : 2.5;
  const kbits = (version === 1 ? KBITS_V1 : KBITS_V2)[bytes[at + 2]! >> 4];
  const rate = RATES_V1[(bytes[at + 2]! >> 2) & 3];
  if (versionBits === 1 || !kbits || !rate) return undefined;
  const sampleRate = version === 1 ? rate : version === 2 ? rate / 2 : rate / 4;
  const padding = (bytes[at + 2]! >> 1) & 1;
  const length = Math.floor(((version === 1 ? 144000 : 72000) * kbits) / sampleRate) + padding;
  return { version, sampleRate, mono: bytes[at + 3]! >> 6 === 3, length };
}

const alike = (a: FrameHeader, b: FrameHeader): boolean => a.version === b.version && a.sampleRate === b.sampleRate;

/** A frame followed by another of its kind, or by the end of the file: a single header may be a coincidence. */
function isFrame(bytes: Uint8Array, at: number, like?: FrameHeader): boolean {
  const header = headerAt(bytes, at);
  if (!header || (like && !alike(header, like))) return false;
  if (at + header.length === bytes.length) return like !== undefined;
  const next = headerAt(bytes, at + header.length);
  return next !== undefined && alike(header, next);
}

/** Offset of the first frame, or -1. Without a tag it must be at the start of the file. */
function firstFrame(bytes: Uint8Array): number {
  const tag = id3Length(bytes);
  const last = tag === 0 ? 0 : Math.min(tag + SEARCH_BYTES, bytes.length);
  for (let at = tag; at <= last; at++) if (isFrame(bytes, at)) return at;
  return -1;
}

/** Frame count of a `Xing` or `Info` frame: it is located where the side information of an audio frame would end. */
function announcedFrames(bytes: Uint8Array, start: number, { version, mono }: FrameHeader): number | undefined {
  const at = start + 4 + (version === 1 ? (mono ? 17 : 32) : mono ? 9 : 17);
  if (at + 12 > bytes.length) return undefined;
  const id = String.fromCharCode(...bytes.subarray(at, at + 4));
  const view = new DataView(bytes.buffer, bytes.byteOffset + at, 12);
  return (id === 'Xing' || id === 'Info') && view.getUint32(4) & 1 ? view.getUint32(8) : undefined;
}

/** Whether frames follow after other data at `from`. */
function framesFollow(bytes: Uint8Array, from: number, like: FrameHeader): boolean {
  for (let at = from; at + 4 <= bytes.length; at++) if (isFrame(bytes, at, like)) return true;
  return false;
}

/** Walks the layer III frames of a file from header to header, past an ID3v2 tag; undefined if it is no MP3 file. */
export function mp3FramesOf(bytes: Uint8Array): Mp3Frames | undefined {
  const start = firstFrame(bytes);
  const first = start < 0 ? undefined : headerAt(bytes, start);
  if (!first) return undefined;
  let end = start;
  let frames = 0;
  let mono = true;
  let header: FrameHeader | undefined = first;
  while (header && alike(header, first) && end + header.length <= bytes.length) {
    frames++;
    mono &&= header.mono;
    end += header.length;
    header = headerAt(bytes, end);
  }
  const cut = header !== undefined && alike(header, first);
  const brokenAt = cut || framesFollow(bytes, end, first) ? end : undefined;
  const announced = announcedFrames(bytes, start, first);
  return { start, end, frames, sampleRate: first.sampleRate, mono, announced, brokenAt };
}
