import type { Audio } from '../../audio/audio.ts';
import { damaged, decodeWith } from './coded.ts';
import { endsPacket, oggPagesOf, type OggPage } from './ogg-pages.ts';

/** Cuts `audio` to `frames`; shorter audio, from a stream that does not begin at zero, stays. */
const cutTo = (audio: Audio, frames: number): Audio => ({
  ...audio,
  channels: audio.channels.map((channel) => channel.subarray(0, Math.max(1, frames))),
});

/**
 * Decodes Ogg Vorbis at its own rate, cut to the length in the last page.
 *
 * @throws ProblemError if the file is damaged, cut short, or holds several streams
 */
export async function decodeVorbis(bytes: Uint8Array, name: string): Promise<Audio> {
  const pages = oggPagesOf(bytes, (found) => damaged(name, 'Ogg Vorbis', found));
  const { OggVorbisDecoder } = await import('@wasm-audio-decoders/ogg-vorbis');
  const run = (decoder: InstanceType<typeof OggVorbisDecoder>) => decoder.decodeFile(bytes);
  const audio = await decodeWith(new OggVorbisDecoder(), run, name, 'Ogg Vorbis');
  return cutTo(audio, pages.at(-1)!.granule);
}

/** Fields of the first packet of an Opus stream that the decoder ignores (RFC 7845, section 5.1). */
interface OpusHead {
  /** Samples at 48 kHz before the audio begins. */
  readonly preSkip: number;
  /** Output gain, linear. */
  readonly gain: number;
}

function opusHeadOf(bytes: Uint8Array): OpusHead {
  const view = new DataView(bytes.buffer, bytes.byteOffset + 28, 19);
  return { preSkip: view.getUint16(10, true), gain: 10 ** (view.getInt16(16, true) / 256 / 20) };
}

/**
 * The stream with its comments emptied: the decoder takes comments of more than a page (a cover picture) for audio.
 * The comments are the second packet, and audio starts on a page of its own (RFC 7845, section 3).
 */
function withoutComments(bytes: Uint8Array, pages: readonly OggPage[]): Uint8Array {
  const last = pages.findIndex((page, i) => i > 0 && endsPacket(bytes, page));
  const [first, second] = pages;
  if (!first || !second || last <= 1) return bytes;
  const audio = bytes.subarray(pages[last]!.end);
  const kept = new Uint8Array(first.end + 28 + audio.length);
  kept.set(bytes.subarray(0, first.end));
  kept.set(bytes.subarray(second.start, second.start + 26), first.end);
  kept[first.end + 26] = 1; // one packet, of no bytes
  kept.set(audio, first.end + 28);
  return kept;
}

/**
 * Decodes Ogg Opus, always at 48 kHz, with the output gain, pre-skip and length of the file applied.
 *
 * @throws ProblemError if the file is damaged, cut short, or holds several streams
 */
export async function decodeOpus(bytes: Uint8Array, name: string): Promise<Audio> {
  const pages = oggPagesOf(bytes, (found) => damaged(name, 'Ogg Opus', found));
  if (pages[0]!.end < 28 + 19) throw damaged(name, 'Ogg Opus', 'no stream information');
  const { preSkip, gain } = opusHeadOf(bytes);
  const stream = withoutComments(bytes, pages);
  const { OggOpusDecoder } = await import('ogg-opus-decoder');
  const run = (decoder: InstanceType<typeof OggOpusDecoder>) => decoder.decodeFile(stream);
  const audio = cutTo(await decodeWith(new OggOpusDecoder(), run, name, 'Ogg Opus'), pages.at(-1)!.granule - preSkip);
  if (gain === 1) return audio;
  return { ...audio, channels: audio.channels.map((channel) => channel.map((x) => x * gain)) };
}
