import type { Audio } from '../../audio/audio.ts';
import { ProblemError } from '../../session/problem.ts';
import { wavLayoutOf } from './wav-layout.ts';
import { firstNonFinite, strideOf, deinterleave } from './wav-samples.ts';

/**
 * Refuses NaN and infinite samples, as a single one would spread through every filter and sum.
 *
 * @param channels the samples (channels x frames), of which `count` are looked at; the first is frame `start` of the file
 * @throws ProblemError that names the sample
 */
export function refuseNonFinite(channels: readonly Float32Array[], count: number, start: number, name: string): void {
  channels.forEach((channel, c) => {
    const frame = firstNonFinite(channel, count);
    if (frame < 0) return;
    const found = `${channel[frame]} at sample ${start + frame} of channel ${c + 1}; export the file again`;
    throw new ProblemError({ code: 'unreadable', path: name, expected: 'samples that are finite numbers', found });
  });
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
  const stride = strideOf(format);
  const frames = Math.floor(dataBytes / stride);
  if (frames === 0) {
    throw new ProblemError({ code: 'too-short', path: name, expected: 'a WAV file with samples', found: 'none' });
  }
  const channels = Array.from({ length: format.channels }, () => new Float32Array(frames));
  deinterleave(format, bytes.subarray(start, start + frames * stride), frames, channels);
  if (format.encoding === 'float') refuseNonFinite(channels, frames, 0, name);
  return { sampleRate: format.sampleRate, channels };
}
