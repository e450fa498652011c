import { framesOf, type Audio } from '../../audio/audio.ts';
import { ProblemError } from '../../session/problem.ts';
import { damaged, decodeWith } from './coded.ts';
import { joinedBytes } from '../bytes/joined-bytes.ts';
import { id3Length } from '../mp3/id3.ts';
import { oggPagesOf } from './ogg-pages.ts';

/** Largest word length that the decoder takes, bits; more would not fit a float32 sample either. */
const MAX_BITS = 24;

/** Bytes that the decoder needs after the last frame to recognise it. */
const BYTES_BEHIND = 64;

/** The STREAMINFO block of a FLAC stream (RFC 9639, section 8.2). */
interface StreamInfo {
  readonly bits: number;
  /** Frames in the file; 0 if the writer did not know. */
  readonly frames: number;
}

/** Reads STREAMINFO, which directly follows `fLaC`; undefined if it is missing. */
function streamInfoAt(bytes: Uint8Array, at: number): StreamInfo | undefined {
  if (at + 42 > bytes.length || (bytes[at + 4]! & 0x7f) !== 0) return undefined;
  const view = new DataView(bytes.buffer, bytes.byteOffset + at + 8, 34);
  const bits = ((view.getUint16(12) >> 4) & 0x1f) + 1;
  return { bits, frames: (view.getUint8(13) & 0x0f) * 2 ** 32 + view.getUint32(14) };
}

/**
 * The decoder divides by 2^(bits-1) - 1, we by 2^(bits-1) as for WAV. The integer can be recovered exactly: the rounding error of a float32 near full scale is at most a quarter of an LSB.
 */
function rescale(audio: Audio, bits: number): void {
  const decoderScale = 2 ** (bits - 1) - 1;
  const scale = 2 ** (bits - 1);
  for (const channel of audio.channels) {
    for (let i = 0; i < channel.length; i++) channel[i] = Math.round(channel[i]! * decoderScale) / scale;
  }
}

/**
 * Decodes FLAC, native or in Ogg. Samples are exactly integer / 2^(bits-1).
 *
 * @throws ProblemError if the file is damaged, shorter than it says, or of more than 24 bits
 */
export async function decodeFlac(bytes: Uint8Array, name: string): Promise<Audio> {
  const start = id3Length(bytes);
  const inOgg = bytes[start] === 0x4f;
  if (inOgg) oggPagesOf(bytes, (found) => damaged(name, 'FLAC', found));
  // In Ogg the first packet begins with 9 bytes of its own, after the header of a page with one segment (28 bytes).
  const info = streamInfoAt(bytes, inOgg ? 28 + 9 : start);
  if (!info) throw damaged(name, 'FLAC', 'no stream information');
  if (info.bits > MAX_BITS) {
    const expected = `a FLAC file of up to ${MAX_BITS} bits`;
    throw new ProblemError({ code: 'unreadable', path: name, expected, found: `${info.bits} bits` });
  }
  const { FLACDecoder } = await import('@wasm-audio-decoders/flac');
  const stream = bytes.subarray(start);
  const decoded = (whole: Uint8Array): Promise<Audio> =>
    decodeWith(new FLACDecoder(), (decoder) => decoder.decodeFile(whole), name, 'FLAC');
  const asItIs = await decoded(stream);
  // The decoder misses a last frame of a few bytes (a held tone or silence), unless more bytes follow.
  const isShort = framesOf(asItIs) < info.frames;
  const audio = isShort ? await decoded(joinedBytes([stream, new Uint8Array(BYTES_BEHIND)])) : asItIs;
  const frames = framesOf(audio);
  if (info.frames > 0 && frames !== info.frames) {
    throw damaged(name, 'FLAC', `${frames} of the ${info.frames} samples in its header`);
  }
  rescale(audio, info.bits);
  return audio;
}
