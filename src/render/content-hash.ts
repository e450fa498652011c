import { createXXHash128 } from 'hash-wasm';
import { framesOf, type Sound } from '../audio/audio.ts';
import { STRETCH } from '../audio/samples.ts';

const hasher = await createXXHash128();

/** Digest of a text, 32 hexadecimal digits. Names content for the cache; no protection against intent. */
export const hashOfText = (text: string): string => hasher.init().update(text).digest('hex');

/** Plain data as text. Samples are left out: the digest beside them stands for them. */
export const textOf = (data: unknown): string =>
  JSON.stringify(data, (_, value: unknown) => (ArrayBuffer.isView(value) ? undefined : value));

/**
 * Digest of sound: rate, channels, and every sample, a stretch of all channels after the other. `onStretch` is shown each stretch (channels x
 * frames), so that a file is read through once; it may throw.
 */
export const hashOfSound = (
  sound: Sound,
  onStretch: (channels: readonly Float32Array[], from: number) => void = () => {},
): string => {
  const { sampleRate, channels } = sound;
  hasher.init().update(`${sampleRate} ${channels.length}`);
  const frames = framesOf(sound);
  for (let from = 0; from < frames; from += STRETCH) {
    const stretch = channels.map((channel) => channel.subarray(from, Math.min(frames, from + STRETCH)));
    for (const { buffer, byteOffset, byteLength } of stretch)
      hasher.update(new Uint8Array(buffer, byteOffset, byteLength));
    onStretch(stretch, from);
  }
  return hasher.digest('hex');
};
