import { id3Length } from '../mp3/id3.ts';
import { mp3FramesOf } from '../mp3/mp3-frames.ts';
import { oggCodecOf } from './ogg-pages.ts';

/** The supported kinds of audio files. */
export type AudioKind = 'wav' | 'aiff' | 'caf' | 'flac' | 'mp3' | 'ogg-flac' | 'ogg-vorbis' | 'ogg-opus';

const startsWith = (bytes: Uint8Array, text: string, at = 0): boolean =>
  bytes.length >= at + text.length && [...text].every((char, i) => bytes[at + i] === char.charCodeAt(0));

/** The kind of an audio file by its content, not by its name; undefined if it is not supported. */
export function audioKindOf(bytes: Uint8Array): AudioKind | undefined {
  const isWave = startsWith(bytes, 'WAVE', 8);
  if (isWave && ['RIFF', 'RF64', 'BW64'].some((form) => startsWith(bytes, form))) return 'wav';
  if (startsWith(bytes, 'FORM') && (startsWith(bytes, 'AIFF', 8) || startsWith(bytes, 'AIFC', 8))) return 'aiff';
  if (startsWith(bytes, 'caff')) return 'caf';
  if (startsWith(bytes, 'fLaC', id3Length(bytes))) return 'flac';
  const codec = oggCodecOf(bytes);
  if (codec) return codec === 'other' ? undefined : `ogg-${codec}`;
  return mp3FramesOf(bytes) ? 'mp3' : undefined;
}

/** Text has no control characters but tab, line feed, form feed and return. */
const isText = (bytes: Uint8Array): boolean =>
  bytes.subarray(0, 512).every((byte) => byte >= 0x20 || byte === 9 || byte === 10 || byte === 12 || byte === 13);

/** The likely kind of an unsupported file, to complete a sentence that starts with "found". */
export function contentOf(bytes: Uint8Array): string {
  if (bytes.length === 0) return 'an empty file';
  if (startsWith(bytes, 'ftyp', 4)) return 'an MPEG-4 file (m4a, mp4 or mov)';
  if (startsWith(bytes, 'FORM')) return 'an IFF file that holds no sound of AIFF or AIFC';
  if (startsWith(bytes, 'RIFX')) return 'a WAV file with its bytes in reverse order (RIFX)';
  if (startsWith(bytes, '\x1aE\xdf\xa3')) return 'a Matroska or WebM file';
  if (oggCodecOf(bytes)) return 'an Ogg file with another kind of content';
  if (bytes[0] === 0xff && (bytes[1]! & 0xf6) === 0xf0) return 'a raw AAC file';
  return isText(bytes) ? 'a text file' : 'data of an unknown kind';
}
