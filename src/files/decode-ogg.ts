import type { Audio } from '../dsp/audio.ts';
import { damaged, decodeWith } from './coded.ts';
import { oggFault } from './ogg-pages.ts';

/**
 * Decodes Ogg Vorbis at its own rate, cut to the length that the last page tells.
 *
 * @throws ProblemError if the file is damaged, cut short, or holds several streams
 */
export async function decodeVorbis(bytes: Uint8Array, name: string): Promise<Audio> {
  const fault = oggFault(bytes);
  if (fault) throw damaged(name, 'Ogg Vorbis', fault);
  const { OggVorbisDecoder } = await import('@wasm-audio-decoders/ogg-vorbis');
  return decodeWith(new OggVorbisDecoder(), (decoder) => decoder.decodeFile(bytes), name, 'Ogg Vorbis');
}

/**
 * Decodes Ogg Opus, which always comes at 48 kHz, cut to the pre-skip and length that the file tells.
 *
 * @throws ProblemError if the file is damaged, cut short, or holds several streams
 */
export async function decodeOpus(bytes: Uint8Array, name: string): Promise<Audio> {
  const fault = oggFault(bytes);
  if (fault) throw damaged(name, 'Ogg Opus', fault);
  const { OggOpusDecoder } = await import('ogg-opus-decoder');
  return decodeWith(new OggOpusDecoder(), (decoder) => decoder.decodeFile(bytes), name, 'Ogg Opus');
}
