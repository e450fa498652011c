import type { Audio } from '../../audio/audio.ts';
import { damaged, decodeWith } from './coded.ts';
import { mp3FramesOf } from '../mp3/mp3-frames.ts';

/**
 * Decodes MP3 (MPEG-1, 2 and 2.5, layer III). Where the file begins with an information frame that gives the encoder's
 * delay and padding, as most do, both are cut off and the audio has the length and timing of the original. Where it does
 * not, nothing is cut: the audio then starts late by the delay of encoder and decoder (often 1105 samples).
 *
 * @throws ProblemError if the file is damaged or cut short, as far as frame headers and frame count show
 */
export async function decodeMp3(bytes: Uint8Array, name: string): Promise<Audio> {
  const frames = mp3FramesOf(bytes);
  if (!frames) throw damaged(name, 'MP3', 'no frames');
  if (frames.brokenAt !== undefined) throw damaged(name, 'MP3', `a break at byte ${frames.brokenAt}`);
  // The information frame may count itself or not.
  if (frames.announced !== undefined && frames.frames !== frames.announced && frames.frames !== frames.announced + 1) {
    throw damaged(name, 'MP3', `${frames.frames} frames where its header states ${frames.announced}`);
  }
  const { MPEGDecoder } = await import('mpg123-decoder');
  const stream = bytes.subarray(frames.start, frames.end);
  const audio = await decodeWith(new MPEGDecoder(), (decoder) => decoder.decode(stream), name, 'MP3');
  // The decoder always gives two channels; of a mono file they are equal.
  return frames.mono ? { ...audio, channels: audio.channels.slice(0, 1) } : audio;
}
