import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import type { Sound } from '../audio/audio.ts';
import { STRETCH, type Samples } from '../audio/samples.ts';
import { audioKindOf } from './audio-kind.ts';
import { MIN_SECONDS } from './decode.ts';
import { readingProblem, requireRegular } from './node-files.ts';
import { readAt } from './node-scratch.ts';
import { HEADER, samplesStartIn } from './node-wav-stream.ts';
import { wavLayoutOf, type WavLayout } from './wav-layout.ts';
import { strideOf, takeApart } from './wav-samples.ts';

/** Stretches that are kept as they were read: whoever reads across a boundary needs two. */
const KEPT = 2;

/** Files are closed when their sound is held by nobody any more. */
const closing = new FinalizationRegistry<number>((file) => closeSync(file));

/** Reads stretches of the samples of an open WAV file. */
class WavStretches {
  private readonly known = new Map<number, readonly Float32Array[]>();
  readonly frames: number;

  constructor(
    private readonly name: string,
    private readonly file: number,
    private readonly layout: WavLayout,
  ) {
    this.frames = Math.floor(layout.bytes / strideOf(layout.format));
    closing.register(this, file);
  }

  /** All channels of a stretch. @throws ProblemError where reading fails */
  channels(number: number): readonly Float32Array[] {
    const known = this.known.get(number);
    if (known) return known;
    const { format, start } = this.layout;
    const stride = strideOf(format);
    const from = number * STRETCH;
    const frames = Math.min(STRETCH, this.frames - from);
    const bytes = new Uint8Array(frames * stride);
    try {
      readAt(this.file, bytes, start + from * stride);
    } catch (error) {
      throw readingProblem(this.name, error);
    }
    const channels = Array.from({ length: format.channels }, () => new Float32Array(frames));
    takeApart(format, bytes, frames, channels);
    for (const old of this.known.keys()) if (this.known.size >= KEPT) this.known.delete(old);
    this.known.set(number, channels);
    return channels;
  }
}

/** One channel of a WAV file, read when it is asked for. */
class WavSamples implements Samples {
  constructor(
    private readonly stretches: WavStretches,
    private readonly channel: number,
  ) {}

  get length(): number {
    return this.stretches.frames;
  }

  subarray(from: number, to: number): Float32Array {
    const number = Math.floor(from / STRETCH);
    const at = from - number * STRETCH;
    if (at + to - from <= STRETCH) return this.part(number, at, to - from);
    const out = new Float32Array(to - from);
    for (let frame = from; frame < to;) {
      const place = Math.floor(frame / STRETCH);
      const start = frame - place * STRETCH;
      const count = Math.min(to - frame, STRETCH - start);
      out.set(this.part(place, start, count), frame - from);
      frame += count;
    }
    return out;
  }

  private part(number: number, at: number, count: number): Float32Array {
    if (count === 0) return new Float32Array(0);
    return this.stretches.channels(number)[this.channel]!.subarray(at, at + count);
  }
}

/**
 * A WAV file as a sound that is read from it stretch by stretch: memory does not grow with its length, nor is a file over 2 GB too long. The
 * file must stay as it is. Samples that are no finite numbers come through.
 *
 * @returns null for a file that is not a plain WAV with its samples near its beginning, or too short to work on: such a one is read whole
 * @throws ProblemError if the file is missing, cannot be read, or is a WAV that is cut short or not read here
 */
export const openWav = async (path: string): Promise<Sound | null> => {
  await requireRegular(path);
  let file: number | null = null;
  try {
    file = openSync(path, 'r');
    const { size } = fstatSync(file);
    const header = new Uint8Array(Math.min(HEADER, size));
    readSync(file, header, 0, header.length, 0);
    if (audioKindOf(header) === 'wav' && samplesStartIn(header)) {
      const layout = wavLayoutOf(header, path, size);
      const { channels, sampleRate } = layout.format;
      const stretches = new WavStretches(path, file, layout);
      file = null;
      if (stretches.frames < MIN_SECONDS * sampleRate) return null;
      return { sampleRate, channels: Array.from({ length: channels }, (_, c) => new WavSamples(stretches, c)) };
    }
    return null;
  } catch (error) {
    throw error instanceof Error && 'syscall' in error ? readingProblem(path, error) : error;
  } finally {
    if (file !== null) closeSync(file);
  }
};
