import type { Measurement } from '../../measure/figures.ts';
import { aiffHead, aiffSamples, requireAiffSize } from '../aiff/aiff-write.ts';
import { FlacStream } from '../flac/flac-stream.ts';
import { paddingOf, sampleBytesOf, wavHead } from '../wav/wav-head.ts';
import type { WavFormat } from '../wav/wav-layout.ts';
import { bextChunk, cueChunks, type CuePoint } from '../wav/wav-tags.ts';

/** Lossless formats of prints. */
export const FILE_FORMS = ['wav', 'flac', 'aiff'] as const;
export type FileForm = (typeof FILE_FORMS)[number];

/** File name endings. */
export const FORM_ENDINGS: Readonly<Record<FileForm, string>> = { wav: '.wav', flac: '.flac', aiff: '.aiff' };

/** Display names. */
export const FORM_NAMES: Readonly<Record<FileForm, string>> = { wav: 'WAV', flac: 'FLAC', aiff: 'AIFF' };

/** Metadata of a file, known once its samples are written. */
export interface FileFacts {
  readonly title: string;
  readonly artist: string;
  /** Frame of the song at which the file begins. */
  readonly startFrame: number;
  readonly markers: readonly CuePoint[];
  /** BPM; null: the tempo changes. WAV and AIFF cannot store it. */
  readonly tempo: number | null;
  readonly figures: Measurement;
}

/** A file of one format while it is written. */
interface FormWriter {
  /** Samples as WAV bytes and as numbers, converted to this format. */
  readonly piece: (bytes: Uint8Array<ArrayBuffer>, samples: readonly Float32Array[]) => Uint8Array<ArrayBuffer>;
  /** The bytes after the last samples. */
  readonly end: () => Uint8Array<ArrayBuffer>;
  /** The bytes before the samples. */
  readonly head: (facts: FileFacts) => Uint8Array<ArrayBuffer>;
}

/** Name of the creating program in files. */
const ORIGINATOR = 'Tributary';

const wavWriter = (format: WavFormat, frames: number): FormWriter => ({
  piece: (bytes) => bytes,
  end: () => paddingOf(sampleBytesOf(format, frames)),
  head: ({ title, artist, startFrame, markers, figures }) => {
    const description = artist === '' ? title : `${artist} - ${title}`;
    return wavHead(format, frames, [
      bextChunk({ description, originator: ORIGINATOR, startFrame, format, figures }),
      ...cueChunks(markers),
    ]);
  },
});

const aiffWriter = (format: WavFormat, frames: number): FormWriter => ({
  piece: (bytes) => aiffSamples(format, bytes),
  end: () => paddingOf(sampleBytesOf(format, frames)),
  head: ({ title, artist, markers }) => aiffHead(format, frames, { name: title, author: artist, markers }),
});

/** Time as chapters of Vorbis comments have it: 00:00:00.000. */
const chapterTime = (seconds: number): string => {
  const ms = Math.round(1000 * seconds);
  const two = (value: number): string => `${Math.floor(value)}`.padStart(2, '0');
  return `${two(ms / 3_600_000)}:${two((ms / 60_000) % 60)}:${two((ms / 1000) % 60)}.${`${ms % 1000}`.padStart(3, '0')}`;
};

/**
 * FLAC has no field for the start of a file in a song: the comment TIME_REFERENCE, in samples, is what ffmpeg writes and reads for that of a
 * broadcast WAV file. Sections are chapters as the chapter extension of Vorbis comments has them.
 */
const flacWriter = async ({ bits, channels, sampleRate }: WavFormat): Promise<FormWriter> => {
  const stream = await FlacStream.begin({ bits: bits === 16 ? 16 : 24, channels, sampleRate });
  return {
    piece: (bytes, samples) => stream.push(samples, bytes),
    end: () => stream.end(),
    head: ({ title, artist, startFrame, markers, tempo }) =>
      stream.head(ORIGINATOR, [
        ['TITLE', title],
        ...(artist === '' ? [] : ([['ARTIST', artist]] as const)),
        ...(tempo === null ? [] : ([['BPM', String(tempo)]] as const)),
        ['TIME_REFERENCE', String(startFrame)],
        ...markers.flatMap(({ frame, name }, n): (readonly [string, string])[] => {
          const chapter = `CHAPTER${String(n + 1).padStart(3, '0')}`;
          return [
            [chapter, chapterTime(frame / sampleRate)],
            [`${chapter}NAME`, name],
          ];
        }),
      ]),
  };
};

/** Begins a file of `frames` frames; FLAC takes integers only. @throws ProblemError where the format cannot hold them */
export const formWriter = async (form: FileForm, format: WavFormat, frames: number): Promise<FormWriter> => {
  if (form === 'flac') return flacWriter(format);
  if (form === 'wav') return wavWriter(format, frames);
  requireAiffSize(format, frames);
  return aiffWriter(format, frames);
};
