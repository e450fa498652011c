import { createXXHash128 } from 'hash-wasm';
import type { Audio } from '../audio/audio.ts';

const hasher = await createXXHash128();

/** Digest of a text, 32 hexadecimal digits. Names content for the cache; no protection against intent. */
export const hashOfText = (text: string): string => hasher.init().update(text).digest('hex');

/** Plain data as text. Samples are left out: the digest beside them stands for them. */
export const textOf = (data: unknown): string =>
  JSON.stringify(data, (_, value: unknown) => (ArrayBuffer.isView(value) ? undefined : value));

/** Digest of sound: rate, channels and every sample. */
export const hashOfAudio = ({ sampleRate, channels }: Audio): string => {
  hasher.init().update(`${sampleRate} ${channels.length}`);
  for (const channel of channels) hasher.update(new Uint8Array(channel.buffer, channel.byteOffset, channel.byteLength));
  return hasher.digest('hex');
};
