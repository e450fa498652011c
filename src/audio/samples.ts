/**
 * Samples of one channel that are read stretch by stretch, wherever they are: in memory (a Float32Array is such samples), on disk,
 * or worked out when they are asked for.
 */
export interface Samples {
  readonly length: number;
  /** Samples from..to-1, both within 0..length, to be read only; those of long stretches are better asked for in parts. */
  subarray(from: number, to: number): Float32Array;
}

/** Samples that stand at a frame of a longer or shorter stretch; what they do not fill is silent. */
class PlacedSamples implements Samples {
  constructor(
    readonly base: Samples,
    readonly start: number,
    readonly length: number,
  ) {}

  subarray(from: number, to: number): Float32Array {
    const { base, start } = this;
    const first = Math.max(from, start);
    const last = Math.min(to, start + base.length);
    if (first >= last) return new Float32Array(to - from);
    const part = base.subarray(first - start, last - start);
    if (part.length === to - from) return part;
    const out = new Float32Array(to - from);
    out.set(part, first - from);
    return out;
  }
}

/**
 * Samples placed at `start` (negative: their beginning is cut) of `length` frames, silent where they do not sound. A view where that can
 * be one.
 */
export function placedSamples(samples: Float32Array, start: number, length: number): Float32Array;
export function placedSamples(samples: Samples, start: number, length: number): Samples;
export function placedSamples(samples: Samples, start: number, length: number): Samples {
  if (start === 0 && samples.length === length) return samples;
  const placed = new PlacedSamples(samples, start, length);
  return samples instanceof Float32Array ? placed.subarray(0, length) : placed;
}

/** True where both are the same samples, from the same frame to the same frame. */
export const areSameSamples = (one: Samples, other: Samples): boolean => {
  if (one === other) return true;
  if (one.length !== other.length) return false;
  if (one instanceof Float32Array && other instanceof Float32Array)
    return one.buffer === other.buffer && one.byteOffset === other.byteOffset;
  if (!(one instanceof PlacedSamples && other instanceof PlacedSamples)) return false;
  return one.start === other.start && areSameSamples(one.base, other.base);
};

/** True where every value of one is that of the other. By index: `every` takes ten times as long. */
export const haveEqualValues = (one: Float32Array, other: Float32Array): boolean => {
  if (one.length !== other.length) return false;
  for (let n = 0; n < one.length; n++) if (one[n] !== other[n]) return false;
  return true;
};

/** Frames of long samples that are looked at together. */
export const STRETCH = 32_768;

/** Frames until the last sample that is `heard`, of those from frame `from` on; `from` where none is. */
export const lastOf = (samples: Samples, from: number, heard: (sample: number) => boolean): number => {
  for (let to = samples.length; to > from; to -= STRETCH) {
    const start = Math.max(from, to - STRETCH);
    const last = samples.subarray(start, to).findLastIndex(heard);
    if (last >= 0) return start + last + 1;
  }
  return from;
};
