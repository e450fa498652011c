import audioBufferToWav from 'audiobuffer-to-wav';
import { framesOf, stretchOf, type Sound } from '../audio/audio.ts';
import { Quantiser } from './quantise.ts';
import { SUBFORMAT_TAIL, type WavFormat } from './wav-layout.ts';

/** Sample formats of a WAV file that is written: integers of 16 or 24 bits, or 32-bit floats. */
export const WAV_BITS = ['16', '24', '32f'] as const;
export type WavBits = (typeof WAV_BITS)[number];

/** Options of `writeWav`. */
export interface WriteWavOptions {
  /**
   * Start of the dither's random sequence; 1 unless given. The same audio and seed give the same bytes. Files that will
   * be summed, such as stems, need a seed each: equal dither would add up in phase.
   */
  readonly seed?: number;
}

/** A WAV file and how many of its samples lay beyond full scale and were limited to it (never any in float). */
export interface WrittenWav {
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly limitedSamples: number;
}

interface Header {
  readonly tag: 1 | 3;
  readonly bits: 16 | 24 | 32;
  readonly channels: number;
  readonly sampleRate: number;
  readonly frames: number;
}

/** Front centre; front left and right. Of more channels the speakers are not known, and 0 claims none. */
const SPEAKERS: Readonly<Record<number, number>> = { 1: 0x4, 2: 0x3 };

/** Spreads the channels evenly over the cycle of the random sequence, so that none repeats another's dither. */
const CHANNEL_SEED_STEP = 2 ** 29;

function writeId(view: DataView, at: number, id: string): void {
  for (let i = 0; i < 4; i++) view.setUint8(at + i, id.charCodeAt(i));
}

/** Bytes of the `fmt ` chunk: plain for 16 bit mono and stereo, with a size of its own for float, else extensible. */
const formatBytes = ({ tag, bits, channels }: Header): number => {
  if (channels > 2 || bits === 24) return 40;
  return tag === 3 ? 18 : 16;
};

function writeFormat(view: DataView, header: Header): void {
  const { tag, bits, channels, sampleRate } = header;
  const size = formatBytes(header);
  const frameBytes = (channels * bits) / 8;
  writeId(view, 12, 'fmt ');
  view.setUint32(16, size, true);
  view.setUint16(20, size === 40 ? 0xfffe : tag, true);
  view.setUint16(22, channels, true);
  view.setUint32(24, sampleRate, true);
  view.setUint32(28, sampleRate * frameBytes, true);
  view.setUint16(32, frameBytes, true);
  view.setUint16(34, bits, true);
  if (size < 40) return; // the extension of float has no bytes, as the zero already there says
  view.setUint16(36, 22, true);
  view.setUint16(38, bits, true);
  view.setUint32(40, SPEAKERS[channels] ?? 0, true);
  view.setUint16(44, tag, true);
  SUBFORMAT_TAIL.forEach((byte, i) => view.setUint8(46 + i, byte));
}

/** All of a file before its samples. */
function headOf(header: Header): Uint8Array<ArrayBuffer> {
  const dataBytes = (header.frames * header.channels * header.bits) / 8;
  const afterFormat = 20 + formatBytes(header);
  const start = afterFormat + (header.tag === 3 ? 12 : 0) + 8;
  const size = start + dataBytes + (dataBytes % 2);
  if (size > 0xffffffff) throw new RangeError(`a WAV file holds up to 4 GB, and this one would take ${size} bytes`);
  const view = new DataView(new ArrayBuffer(start));
  writeId(view, 0, 'RIFF');
  view.setUint32(4, size - 8, true);
  writeId(view, 8, 'WAVE');
  writeFormat(view, header);
  if (header.tag === 3) {
    writeId(view, afterFormat, 'fact');
    view.setUint32(afterFormat + 4, 4, true);
    view.setUint32(afterFormat + 8, header.frames, true);
  }
  writeId(view, start - 8, 'data');
  view.setUint32(start - 4, dataBytes, true);
  return new Uint8Array(view.buffer);
}

/** Encodes the frames of a sound one stretch after the other. */
interface Encoder {
  /** Frames from..to-1, which follow those before. */
  next(from: number, to: number): Encoded;
}

interface Encoded {
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly limitedSamples: number;
}

function integerEncoder({ sampleRate, channels }: Sound, bits: 16 | 24, seed: number): Encoder {
  const width = bits / 8;
  const stride = width * channels.length;
  const quantisers = channels.map(
    (channel, c) => new Quantiser(channel, bits, { sampleRate, seed: seed + c * CHANNEL_SEED_STEP }),
  );
  return {
    next: (from, to) => {
      const view = new DataView(new ArrayBuffer((to - from) * stride));
      let limitedSamples = 0;
      quantisers.forEach((quantiser, c) => {
        const quantised = quantiser.next(to - from);
        limitedSamples += quantised.limitedSamples;
        const { samples } = quantised;
        for (let i = 0, at = c * width; i < samples.length; i++, at += stride) {
          view.setInt16(at, samples[i]!, true); // the lower 16 bits
          if (bits === 24) view.setInt8(at + 2, samples[i]! >> 16);
        }
      });
      return { bytes: new Uint8Array(view.buffer), limitedSamples };
    },
  };
}

/** Samples of all channels in turn, frame by frame. */
function interleaved(channels: readonly Float32Array[], frames: number): Float32Array {
  const samples = new Float32Array(frames * channels.length);
  channels.forEach((channel, c) => {
    for (let i = 0, at = c; i < frames; i++, at += channels.length) samples[at] = channel[i]!;
  });
  return samples;
}

/** The header that the package writes before the samples, bytes: it lacks what the format asks of float files, so we write ours. */
const PACKAGE_HEADER = 44;

const floatEncoder = (sound: Sound): Encoder => ({
  next: (from, to) => {
    const samples = interleaved(stretchOf(sound, from, to).channels, to - from);
    const { sampleRate } = sound;
    const encoded = audioBufferToWav(
      { sampleRate, numberOfChannels: 1, getChannelData: () => samples },
      { float32: true },
    );
    return { bytes: new Uint8Array(encoded, PACKAGE_HEADER), limitedSamples: 0 };
  },
});

/** A piece of a WAV file. */
export interface WavPiece {
  readonly bytes: Uint8Array<ArrayBuffer>;
  /** Frames of samples in it: none before and behind them. */
  readonly frames: number;
  readonly limitedSamples: number;
}

/** Frames in a piece. */
const PIECE = 32_768;

/** How samples of so many bits are written, as `takeApart` reads them. */
export const wavFormatOf = ({ sampleRate, channels }: Sound, bits: WavBits): WavFormat => ({
  ...(bits === '32f' ? { encoding: 'float', bits: 32 } : { encoding: 'integer', bits: bits === '16' ? 16 : 24 }),
  ...{ sampleRate, channels: channels.length },
});

/** The pieces of the file that `writeWav` writes, one after the other. */
export function* wavPieces(sound: Sound, bits: WavBits, { seed = 1 }: WriteWavOptions = {}): Generator<WavPiece, void> {
  const { sampleRate, channels } = sound;
  if (channels.length < 1 || channels.length > 8) {
    throw new RangeError(`a WAV file takes 1 to 8 channels, not ${channels.length}`);
  }
  const frames = framesOf(sound);
  const isFloat = bits === '32f';
  const width = isFloat ? 32 : bits === '16' ? 16 : 24;
  const header: Header = { tag: isFloat ? 3 : 1, bits: width, channels: channels.length, sampleRate, frames };
  const encoder = isFloat ? floatEncoder(sound) : integerEncoder(sound, bits === '16' ? 16 : 24, seed);
  yield { bytes: headOf(header), frames: 0, limitedSamples: 0 };
  for (let from = 0; from < frames; from += PIECE) {
    const to = Math.min(frames, from + PIECE);
    yield { ...encoder.next(from, to), frames: to - from };
  }
  if (((frames * channels.length * width) / 8) % 2 === 1)
    yield { bytes: new Uint8Array(1), frames: 0, limitedSamples: 0 };
}

/** Pieces of bytes as one. */
export const joinedBytes = (pieces: readonly Uint8Array[]): Uint8Array<ArrayBuffer> => {
  const bytes = new Uint8Array(pieces.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const piece of pieces) {
    bytes.set(piece, at);
    at += piece.length;
  }
  return bytes;
};

/**
 * Writes `audio` as a WAV file. Integers are dithered as `quantise` says, and limited to full scale; float keeps every value.
 *
 * @param audio 1 to 8 channels
 * @throws RangeError if there is no channel, or if the file would be larger than the 4 GB that its header can tell
 */
export function writeWav(audio: Sound, bits: WavBits, options: WriteWavOptions = {}): WrittenWav {
  const pieces = [...wavPieces(audio, bits, options)];
  const limitedSamples = pieces.reduce((sum, piece) => sum + piece.limitedSamples, 0);
  return { bytes: joinedBytes(pieces.map(({ bytes }) => bytes)), limitedSamples };
}
