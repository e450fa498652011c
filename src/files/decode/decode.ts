import { framesOf, secondsOf, type Audio } from '../../audio/audio.ts';
import { ProblemError } from '../../session/problem.ts';
import { audioKindOf, contentOf, type AudioKind } from './audio-kind.ts';
import { readAiff } from '../aiff/aiff-read.ts';
import { readCaf } from './caf-read.ts';
import { decodeFlac } from './decode-flac.ts';
import { decodeMp3 } from './decode-mp3.ts';
import { decodeOpus, decodeVorbis } from './decode-ogg.ts';
import { readWav } from '../wav/wav-read.ts';

/** Shortest accepted sound, seconds: shorter ones cannot be measured. */
export const MIN_SECONDS = 0.01;

const DECODERS: Readonly<Record<AudioKind, (bytes: Uint8Array, name: string) => Audio | Promise<Audio>>> = {
  wav: readWav,
  aiff: readAiff,
  caf: readCaf,
  flac: decodeFlac,
  'ogg-flac': decodeFlac,
  mp3: decodeMp3,
  'ogg-vorbis': decodeVorbis,
  'ogg-opus': decodeOpus,
};

/** Refuses audio that is too short to work on: under `MIN_SECONDS`. */
function refuseTooShort(audio: Audio, name: string): void {
  if (secondsOf(audio) >= MIN_SECONDS) return;
  const frames = framesOf(audio);
  throw new ProblemError({
    code: 'too-short',
    path: name,
    expected: `at least ${MIN_SECONDS * 1000} ms of audio`,
    found: frames === 1 ? 'a single sample' : `${frames} samples at ${audio.sampleRate} Hz`,
  });
}

/**
 * Decodes an audio file at its own sample rate and level, the same in browser and Node: WAV, AIFF, CAF, FLAC, MP3, Ogg
 * Vorbis, Ogg Opus. The kind is determined by the content, not the name. Decoders are loaded when first needed.
 *
 * @param bytes the whole file
 * @param name what messages call the file
 * @throws ProblemError if the kind is not supported, or the file is damaged, cut short, or shorter than `MIN_SECONDS`
 */
export async function decodeAudioFile(bytes: Uint8Array, name: string): Promise<Audio> {
  const kind = audioKindOf(bytes);
  if (!kind) {
    const expected = 'a WAV, AIFF, CAF, FLAC, MP3, Ogg Vorbis or Ogg Opus file';
    throw new ProblemError({ code: 'unreadable', path: name, expected, found: contentOf(bytes) });
  }
  const audio = await DECODERS[kind](bytes, name);
  refuseTooShort(audio, name);
  return audio;
}
