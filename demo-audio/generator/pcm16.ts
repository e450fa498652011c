import type { Signal } from './signal.ts';

/**
 * Channels as interleaved 16-bit integers, full scale 32768, plainly rounded. Not dithered: a track that pauses falls to
 * true silence, as one that was cleaned up before it was handed over, and packs small.
 */
export const roundedPcm = (channels: readonly Signal[]): Int32Array<ArrayBuffer> => {
  const pcm = new Int32Array(channels.length * channels[0]!.length);
  channels.forEach((channel, c) => {
    for (let n = 0; n < channel.length; n++) {
      pcm[n * channels.length + c] = Math.max(-32768, Math.min(32767, Math.round(channel[n]! * 32768)));
    }
  });
  return pcm;
};
