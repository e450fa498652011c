import type { Audio } from '../../audio/audio.ts';
import { ProblemError } from '../../session/problem.ts';
import { signedAsUnsigned, withBytesReversed } from '../aiff/big-endian.ts';
import { MAX_CHANNELS, MAX_RATE, MIN_RATE } from '../wav/wav-layout.ts';
import type { WavFormat } from '../wav/wav-layout.ts';
import { refuseNonFinite } from '../wav/wav-read.ts';
import { strideOf, deinterleave } from '../wav/wav-samples.ts';

/** Uncompressed samples of a file, in its byte order. */
interface PlainSamples {
  readonly format: WavFormat;
  readonly isBigEndian: boolean;
  /** Integers of 8 bits are signed here and unsigned in WAV. */
  readonly isSigned: boolean;
  /** The bytes of the samples. */
  readonly bytes: Uint8Array;
}

/** @throws ProblemError for an unsupported number of channels, sample rate or word length */
export const requirePlain = ({ encoding, bits, channels, sampleRate }: WavFormat, name: string, kind: string): void => {
  const refuse = (expected: string, found: string): never => {
    throw new ProblemError({ code: 'unreadable', path: name, expected, found });
  };
  if (channels < 1 || channels > MAX_CHANNELS) refuse(`1 to ${MAX_CHANNELS} channels`, `${channels}`);
  if (!Number.isInteger(sampleRate) || sampleRate < MIN_RATE || sampleRate > MAX_RATE) {
    refuse(`a sample rate from ${MIN_RATE} to ${MAX_RATE} Hz`, `${sampleRate} Hz`);
  }
  const possible = encoding === 'float' ? [32, 64] : [8, 16, 24, 32];
  if (!possible.includes(bits)) refuse(`${kind} samples of ${possible.join(', ')} bits`, `${bits} bits`);
};

/** The sound of uncompressed samples. @throws ProblemError if there are none, or some are not finite */
export const audioOfPlain = ({ format, isBigEndian, isSigned, bytes }: PlainSamples, name: string): Audio => {
  const frames = Math.floor(bytes.length / strideOf(format));
  if (frames === 0) {
    throw new ProblemError({ code: 'too-short', path: name, expected: 'a file with samples', found: 'none' });
  }
  const whole = bytes.subarray(0, frames * strideOf(format));
  const isByte = format.encoding === 'integer' && format.bits === 8;
  const ordered = isByte ? whole : isBigEndian ? withBytesReversed(whole, format.bits / 8) : whole;
  const channels = Array.from({ length: format.channels }, () => new Float32Array(frames));
  deinterleave(format, isByte && isSigned ? signedAsUnsigned(ordered) : ordered, frames, channels);
  if (format.encoding === 'float') refuseNonFinite(channels, frames, 0, name);
  return { sampleRate: format.sampleRate, channels };
};
