import type { Audio } from '../dsp/audio.ts';
import { ProblemError } from '../session/problem.ts';
import { wavLayoutOf, type WavFormat } from './wav-layout.ts';

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

/** A single NaN or infinity would spread through every filter and sum, so it is refused where it stands. */
function refuseNonFinite(channel: Float32Array, number: number, name: string): void {
  const frame = channel.findIndex((x) => !Number.isFinite(x));
  if (frame < 0) return;
  const found = `${channel[frame]} at sample ${frame} of channel ${number}; export the file again`;
  throw new ProblemError({ code: 'unreadable', path: name, expected: 'samples that are finite numbers', found });
}

/**
 * Reads a WAV file: 8, 16, 24 and 32 bit integers, 32 and 64 bit float, 1 to 8 channels, 8 to 384 kHz.
 * Integers up to 24 bits come out exactly (value / 2^(bits - 1)); float values beyond full scale are kept.
 *
 * @param bytes the whole file
 * @param name what messages call the file
 * @throws ProblemError if the file cannot be read, is cut short, or holds no samples or non-finite ones
 */
export function readWav(bytes: Uint8Array, name: string): Audio {
  const { format, start, bytes: dataBytes } = wavLayoutOf(bytes, name);
  const stride = (format.bits / 8) * format.channels;
  const frames = Math.floor(dataBytes / stride);
  if (frames === 0) {
    throw new ProblemError({ code: 'too-short', path: name, expected: 'a WAV file with samples', found: 'none' });
  }
  const view = new DataView(bytes.buffer, bytes.byteOffset + start, frames * stride);
  const read = readerOf(format);
  const channels = Array.from({ length: format.channels }, (_, c) => {
    const channel = new Float32Array(frames);
    for (let i = 0, at = (c * format.bits) / 8; i < frames; i++, at += stride) channel[i] = read(view, at);
    if (format.encoding === 'float') refuseNonFinite(channel, c + 1, name);
    return channel;
  });
  return { sampleRate: format.sampleRate, channels };
}
