import type { WavFormat } from './wav-layout.ts';

type SampleReader = (view: DataView, at: number) => number;

/** Reads one sample at byte `at`, full scale 1. Integers are divided by 2^(bits - 1), so that no sample is rounded. */
function readerOf({ encoding, bits }: WavFormat): SampleReader {
  if (encoding === 'float') {
    return bits === 32 ? (view, at) => view.getFloat32(at, true) : (view, at) => view.getFloat64(at, true);
  }
  switch (bits) {
    case 8: // the only unsigned one
      return (view, at) => (view.getUint8(at) - 128) / 0x80;
    case 16:
      return (view, at) => view.getInt16(at, true) / 0x8000;
    case 24:
      return (view, at) => ((view.getInt8(at + 2) << 16) | view.getUint16(at, true)) / 0x800000;
    default:
      return (view, at) => view.getInt32(at, true) / 0x80000000;
  }
}

const LITTLE_ENDIAN = new Uint8Array(Uint16Array.of(1).buffer)[0] === 1;

/** Bytes of one frame: a sample of every channel. */
export const strideOf = ({ bits, channels }: WavFormat): number => (bits / 8) * channels;

/**
 * Deinterleaves `frames` frames from the start of `bytes` into `channels` (one array a channel, at least `frames` long).
 * Common formats are read through typed arrays; others, and unaligned bytes, one by one.
 */
export function deinterleave(
  format: WavFormat,
  bytes: Uint8Array,
  frames: number,
  channels: readonly Float32Array[],
): void {
  const { encoding, bits } = format;
  const count = frames * format.channels;
  const isPlaced = LITTLE_ENDIAN && bytes.byteOffset % (bits / 8) === 0;
  if (encoding === 'integer' && bits === 16 && isPlaced) {
    deal(new Int16Array(bytes.buffer, bytes.byteOffset, count), 1 / 0x8000, frames, channels);
  } else if (encoding === 'integer' && bits === 24) {
    deal24(bytes, frames, channels);
  } else if (encoding === 'integer' && bits === 32 && isPlaced) {
    deal(new Int32Array(bytes.buffer, bytes.byteOffset, count), 1 / 0x80000000, frames, channels);
  } else if (encoding === 'float' && bits === 32 && isPlaced) {
    deal(new Float32Array(bytes.buffer, bytes.byteOffset, count), 1, frames, channels);
  } else {
    dealOneByOne(format, bytes, frames, channels);
  }
}

function deal(
  samples: Int16Array | Int32Array | Float32Array,
  scale: number,
  frames: number,
  channels: readonly Float32Array[],
): void {
  const [left, right] = channels;
  if (left && right && channels.length === 2) {
    // Most files are stereo, and one loop for both is twice as fast.
    for (let n = 0; n < frames; n++) {
      left[n] = samples[2 * n]! * scale;
      right[n] = samples[2 * n + 1]! * scale;
    }
    return;
  }
  const step = channels.length;
  channels.forEach((channel, c) => {
    for (let n = 0, at = c; n < frames; n++, at += step) channel[n] = samples[at]! * scale;
  });
}

/** Of 24 bits at the top of 32. A power of two: no sample is rounded. */
const SCALE_24 = 1 / 0x80000000;

function deal24(bytes: Uint8Array, frames: number, channels: readonly Float32Array[]): void {
  const [left, right] = channels;
  const isStereo = left && right && channels.length === 2;
  // Most files are stereo. Taken as words, two frames are three reads and not twelve: a third of the time.
  const done = isStereo && LITTLE_ENDIAN && bytes.byteOffset % 4 === 0 ? dealWords24(bytes, frames, left, right) : 0;
  const step = 3 * channels.length;
  channels.forEach((channel, c) => {
    for (let n = done, at = done * step + 3 * c; n < frames; n++, at += step) {
      // Shifting the upper byte to the top of 32 bits extends the sign.
      const value = (bytes[at]! << 8) | (bytes[at + 1]! << 16) | (bytes[at + 2]! << 24);
      channel[n] = value * SCALE_24;
    }
  });
}

/** Stereo samples, two frames at a time; returns how many frames were taken. */
function dealWords24(bytes: Uint8Array, frames: number, left: Float32Array, right: Float32Array): number {
  const even = frames - (frames % 2);
  const words = new Int32Array(bytes.buffer, bytes.byteOffset, (even / 2) * 3);
  for (let n = 0, at = 0; n < even; n += 2, at += 3) {
    const first = words[at]!;
    const second = words[at + 1]!;
    const third = words[at + 2]!;
    left[n] = (first << 8) * SCALE_24;
    right[n] = (((first >>> 16) & 0xff00) | (second << 16)) * SCALE_24;
    left[n + 1] = (((second >>> 8) & 0xffff00) | (third << 24)) * SCALE_24;
    right[n + 1] = (third & ~0xff) * SCALE_24;
  }
  return even;
}

function dealOneByOne(format: WavFormat, bytes: Uint8Array, frames: number, channels: readonly Float32Array[]): void {
  const stride = strideOf(format);
  const read = readerOf(format);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  channels.forEach((channel, c) => {
    for (let n = 0, at = (c * format.bits) / 8; n < frames; n++, at += stride) channel[n] = read(view, at);
  });
}

/** The first of `frames` samples of `channel` that is NaN or infinite, or -1. */
export function firstNonFinite(channel: Float32Array, frames: number): number {
  for (let n = 0; n < frames; n++) if (!Number.isFinite(channel[n]!)) return n;
  return -1;
}
