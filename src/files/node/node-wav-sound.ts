import { closeSync, fstatSync, openSync } from 'node:fs';
import type { Sound } from '../../audio/audio.ts';
import type { OpenSource } from '../byte-source.ts';
import { readingProblem, requireRegular } from './node-files.ts';
import { readAt } from './node-scratch.ts';
import { wavSound, type WavSound } from '../wav/wav-sound.ts';

/** Closes files whose sounds are no longer used. */
const closing = new FinalizationRegistry<number>((file) => closeSync(file));

/** Bytes of an open file. */
class OpenFile implements OpenSource {
  readonly size: number;

  constructor(
    private readonly name: string,
    private readonly file: number,
  ) {
    this.size = fstatSync(file).size;
    closing.register(this, file, this);
  }

  close(): void {
    closing.unregister(this);
    closeSync(this.file);
  }

  bytes(at: number, count: number, into?: Uint8Array): Uint8Array {
    const bytes = into?.subarray(0, count) ?? new Uint8Array(count);
    try {
      readAt(this.file, bytes, at);
    } catch (error) {
      throw readingProblem(this.name, error);
    }
    return bytes;
  }
}

/** A file whose bytes are read on request; the caller must close it. @throws ProblemError if it is missing, or no regular file */
export const openBytes = async (path: string): Promise<OpenSource> => {
  await requireRegular(path);
  try {
    return new OpenFile(path, openSync(path, 'r'));
  } catch (error) {
    throw readingProblem(path, error);
  }
};

/**
 * A WAV file as a sound that is read from it piece by piece (wav-sound.ts).
 * @returns null for one that is read whole
 * @throws ProblemError as `wavSound`, or if the file is missing
 */
export const openWav = async (path: string): Promise<Sound | null> => {
  const source = await openBytes(path);
  let opened: WavSound | null = null;
  try {
    opened = wavSound(source, path);
  } finally {
    if (!opened) source.close();
  }
  return opened?.sound ?? null;
};
