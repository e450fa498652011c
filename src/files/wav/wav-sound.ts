import type { Sound } from '../../audio/audio.ts';
import { STRETCH, type Samples } from '../../audio/samples.ts';
import { audioKindOf } from '../decode/audio-kind.ts';
import type { ByteSource } from '../byte-source.ts';
import { MIN_SECONDS } from '../decode/decode.ts';
import { HEADER, samplesStartIn, wavLayoutOf, type WavLayout } from './wav-layout.ts';
import { strideOf, deinterleave } from './wav-samples.ts';

/** Number of stretches kept after reading: reading across a boundary needs two. */
const KEPT = 2;

/** Holds the bytes of a stretch, of any file, until its samples are taken out of them. */
let scratch = new Uint8Array(0);

/** Reads stretches of the samples of a WAV file. */
class WavStretches {
  private readonly known = new Map<number, readonly Float32Array[]>();
  readonly frames: number;

  constructor(
    private readonly source: ByteSource,
    private readonly layout: WavLayout,
  ) {
    this.frames = Math.floor(layout.bytes / strideOf(layout.format));
  }

  /** All channels of a stretch. @throws ProblemError where reading fails */
  channels(number: number): readonly Float32Array[] {
    const known = this.known.get(number);
    if (known) return known;
    const { format, start } = this.layout;
    const stride = strideOf(format);
    const from = number * STRETCH;
    const frames = Math.min(STRETCH, this.frames - from);
    if (scratch.length < frames * stride) scratch = new Uint8Array(frames * stride);
    const bytes = this.source.bytes(start + from * stride, frames * stride, scratch);
    const channels = Array.from({ length: format.channels }, () => new Float32Array(frames));
    deinterleave(format, bytes, frames, channels);
    for (const old of this.known.keys()) if (this.known.size >= KEPT) this.known.delete(old);
    this.known.set(number, channels);
    return channels;
  }
}

/** One channel of a WAV file, read on request. */
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

/** A sound that is read from its file, and whether its samples may be NaN or infinite. */
export interface WavSound {
  readonly sound: Sound;
  readonly isFloat: boolean;
}

/**
 * A WAV file as a sound that is read from it stretch by stretch: memory does not grow with its length, and files over 2 GB are supported. The
 * file must not change. NaN and infinite samples are not refused.
 *
 * @param name what messages call the file
 * @returns null for a file that is not a plain WAV with its samples near its beginning, or too short: these are read whole
 * @throws ProblemError if the file cannot be read, or is a WAV that is cut short or not supported
 */
export const wavSound = (source: ByteSource, name: string): WavSound | null => {
  const header = source.bytes(0, Math.min(HEADER, source.size));
  if (audioKindOf(header) !== 'wav' || !samplesStartIn(header)) return null;
  const layout = wavLayoutOf(header, name, source.size);
  const { channels, sampleRate, encoding } = layout.format;
  const stretches = new WavStretches(source, layout);
  if (stretches.frames < MIN_SECONDS * sampleRate) return null;
  const sound = { sampleRate, channels: Array.from({ length: channels }, (_, c) => new WavSamples(stretches, c)) };
  return { sound, isFloat: encoding === 'float' };
};
