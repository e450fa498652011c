import { open, type FileHandle } from 'node:fs/promises';
import { audioKindOf } from '../decode/audio-kind.ts';
import { readingProblem, requireRegular } from './node-files.ts';
import { HEADER, samplesStartIn, wavLayoutOf, type WavFormat, type WavLayout } from '../wav/wav-layout.ts';
import { refuseNonFinite } from '../wav/wav-read.ts';
import { strideOf, deinterleave } from '../wav/wav-samples.ts';

/** Frames read together. */
const PIECE = 2 ** 16;

/** Successive frames of a file. The arrays are reused for the next piece. */
export interface SoundPiece {
  /** Channels x frames; the first `count` frames are valid. */
  readonly channels: readonly Float32Array[];
  readonly count: number;
}

/** A WAV file that is read piece by piece: memory does not grow with its length, and files over 2 GB are supported. */
export class WavStream {
  private constructor(
    private readonly name: string,
    private readonly file: FileHandle,
    private readonly layout: WavLayout,
  ) {}

  /**
   * Opens the file at `path`.
   *
   * @returns null for a file that is not a plain WAV with its samples near its beginning: such a one is read whole
   * @throws ProblemError if the file is missing, cannot be read, or is a WAV that is cut short or not supported
   */
  static async open(path: string): Promise<WavStream | null> {
    await requireRegular(path);
    const file = await open(path).catch((error: unknown) => {
      throw readingProblem(path, error);
    });
    try {
      const { size } = await file.stat();
      const header = new Uint8Array(Math.min(HEADER, size));
      await file.read(header, 0, header.length, 0);
      if (audioKindOf(header) === 'wav' && samplesStartIn(header)) {
        return new WavStream(path, file, wavLayoutOf(header, path, size));
      }
    } catch (error) {
      await file.close();
      throw error instanceof Error && 'syscall' in error ? readingProblem(path, error) : error;
    }
    await file.close();
    return null;
  }

  get format(): WavFormat {
    return this.layout.format;
  }

  get frames(): number {
    return Math.floor(this.layout.bytes / strideOf(this.format));
  }

  /**
   * The frames from `from` up to `to`, piece by piece.
   * @throws ProblemError where samples are not finite, or reading fails
   */
  async *pieces(from = 0, to = this.frames): AsyncGenerator<SoundPiece> {
    const { format, file, layout, name } = this;
    const stride = strideOf(format);
    const bytes = new Uint8Array(PIECE * stride);
    const channels = Array.from({ length: format.channels }, () => new Float32Array(PIECE));
    for (let frame = from; frame < to; frame += PIECE) {
      const wanted = Math.min(PIECE, to - frame);
      const { bytesRead } = await file
        .read(bytes, 0, wanted * stride, layout.start + frame * stride)
        .catch((error: unknown) => {
          throw readingProblem(name, error);
        });
      const count = Math.floor(bytesRead / stride);
      if (count < wanted) throw readingProblem(name, new Error('its end before the end of its samples'));
      deinterleave(format, bytes, count, channels);
      if (format.encoding === 'float') refuseNonFinite(channels, count, frame, name);
      yield { channels, count };
    }
  }

  close(): Promise<void> {
    return this.file.close();
  }
}
