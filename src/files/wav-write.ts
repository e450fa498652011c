import audioBufferToWav from 'audiobuffer-to-wav';
import { framesOf, type Audio } from '../dsp/audio.ts';
import { quantise } from './quantise.ts';

/** Word lengths that are written: 16 and 24 bit integers, 32 bit float. */
export type WavBits = '16' | '24' | '32f';

/** Options of `writeWav`. */
export interface WriteWavOptions {
  /**
   * Start of the dither's random sequence; 1 unless given. The same audio and seed give the same bytes. Files that will
   * be summed, such as stems, need a seed each: equal dither would add up in phase.
   */
  readonly seed?: number;
}

/** A WAV file and how many of its samples had to be clipped (never any in float). */
export interface WrittenWav {
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly clippedSamples: number;
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
const SUBFORMAT_TAIL = [0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71];

/** Spreads the channels evenly over the cycle of the random sequence, so that none repeats another's dither. */
const CHANNEL_SEED_STEP = 2 ** 29;

function writeId(view: DataView, at: number, id: string): void {
  for (let i = 0; i < 4; i++) view.setUint8(at + i, id.charCodeAt(i));
}

/** The `fmt ` chunk: 16 bytes for plain 16 bit mono and stereo, else WAVE_FORMAT_EXTENSIBLE. Gives the byte after it. */
function writeFormat(view: DataView, { tag, bits, channels, sampleRate }: Header, extensible: boolean): number {
  const frameBytes = (channels * bits) / 8;
  writeId(view, 12, 'fmt ');
  view.setUint32(16, extensible ? 40 : 16, true);
  view.setUint16(20, extensible ? 0xfffe : tag, true);
  view.setUint16(22, channels, true);
  view.setUint32(24, sampleRate, true);
  view.setUint32(28, sampleRate * frameBytes, true);
  view.setUint16(32, frameBytes, true);
  view.setUint16(34, bits, true);
  if (!extensible) return 36;
  view.setUint16(36, 22, true);
  view.setUint16(38, bits, true);
  view.setUint32(40, SPEAKERS[channels] ?? 0, true);
  view.setUint16(44, tag, true);
  SUBFORMAT_TAIL.forEach((byte, i) => view.setUint8(46 + i, byte));
  return 60;
}

/** A file with all but its samples written, and the first byte where they go. */
function emptyWav(header: Header): { view: DataView<ArrayBuffer>; start: number } {
  const extensible = header.bits !== 16 || header.channels > 2;
  const dataBytes = (header.frames * header.channels * header.bits) / 8;
  const fact = header.tag === 3 ? 12 : 0;
  const size = (extensible ? 68 : 44) + fact + dataBytes + (dataBytes % 2);
  if (size > 0xffffffff) throw new RangeError(`a WAV file holds up to 4 GB, and this one would take ${size} bytes`);
  const view = new DataView(new ArrayBuffer(size));
  writeId(view, 0, 'RIFF');
  view.setUint32(4, size - 8, true);
  writeId(view, 8, 'WAVE');
  let at = writeFormat(view, header, extensible);
  if (fact) {
    writeId(view, at, 'fact');
    view.setUint32(at + 4, 4, true);
    view.setUint32(at + 8, header.frames, true);
    at += fact;
  }
  writeId(view, at, 'data');
  view.setUint32(at + 4, dataBytes, true);
  return { view, start: at + 8 };
}

function writeIntegers(audio: Audio, bits: 16 | 24, seed: number): WrittenWav {
  const { sampleRate, channels } = audio;
  const header: Header = { tag: 1, bits, channels: channels.length, sampleRate, frames: framesOf(audio) };
  const { view, start } = emptyWav(header);
  const width = bits / 8;
  const stride = width * channels.length;
  let clippedSamples = 0;
  channels.forEach((channel, c) => {
    const quantised = quantise(channel, bits, { sampleRate, seed: seed + c * CHANNEL_SEED_STEP });
    clippedSamples += quantised.clippedSamples;
    let at = start + c * width;
    for (const value of quantised.samples) {
      view.setInt16(at, bits === 16 ? value : value & 0xffff, true);
      if (bits === 24) view.setInt8(at + 2, value >> 16);
      at += stride;
    }
  });
  return { bytes: new Uint8Array(view.buffer), clippedSamples };
}

function writeFloat(audio: Audio): WrittenWav {
  const { sampleRate, channels } = audio;
  if (channels.length <= 2) {
    const source = { sampleRate, numberOfChannels: channels.length, getChannelData: (c: number) => channels[c]! };
    return { bytes: new Uint8Array(audioBufferToWav(source, { float32: true })), clippedSamples: 0 };
  }
  const header: Header = { tag: 3, bits: 32, channels: channels.length, sampleRate, frames: framesOf(audio) };
  const { view, start } = emptyWav(header);
  channels.forEach((channel, c) => {
    channel.forEach((value, i) => view.setFloat32(start + 4 * (i * channels.length + c), value, true));
  });
  return { bytes: new Uint8Array(view.buffer), clippedSamples: 0 };
}

/**
 * Writes `audio` as a WAV file. Integers are dithered as `quantise` says, and clip at full scale; float keeps every value.
 *
 * @param audio 1 to 8 channels
 * @throws RangeError if there is no channel, or if the file would be larger than the 4 GB that its header can tell
 */
export function writeWav(audio: Audio, bits: WavBits, { seed = 1 }: WriteWavOptions = {}): WrittenWav {
  if (audio.channels.length < 1 || audio.channels.length > 8) {
    throw new RangeError(`a WAV file takes 1 to 8 channels, not ${audio.channels.length}`);
  }
  return bits === '32f' ? writeFloat(audio) : writeIntegers(audio, bits === '16' ? 16 : 24, seed);
}
