import { Kernels } from './kernels.ts';

/** As plainTransformer of mid-side-transform.ts gives it. */
export interface MidSideTransform {
  (left: Float32Array, right: Float32Array, start: number): Float64Array;
  /**
   * Takes the spectra of mid and of side out of the last transform: each has bins 0 to half the size, real and imaginary
   * parts in turn.
   */
  readonly separate: (mid: Float32Array, side: Float32Array) => void;
}

/** The transform of mid-side-transform.ts for `size` (a power of two, 16 and up) with SIMD; null without. */
export function transformKernel(size: number, slope: Float64Array): MidSideTransform | null {
  const turnCount = (3 * size) / 4;
  const kernels = Kernels.withRoom(8 * size + 8 * slope.length + 16 * turnCount + 32 * size + 8 * (size + 2) + 2048);
  if (!kernels) return null;
  const frames = [kernels.singles(size), kernels.singles(size)] as const;
  const gains = kernels.doubles(slope.length);
  const turns = kernels.doubles(2 * turnCount);
  const results = [kernels.doubles(2 * size), kernels.doubles(2 * size)] as const;
  slope.forEach((gain, n) => (gains[n] = gain / 2));
  for (let k = 0; k < turnCount; k++) {
    const angle = (2 * Math.PI * k) / size;
    turns[2 * k] = Math.cos(angle);
    turns[2 * k + 1] = -Math.sin(angle);
  }
  const parts = [kernels.singles(size + 2), kernels.singles(size + 2)] as const;
  let last: number = results[0].byteOffset;
  const transform = (left: Float32Array, right: Float32Array, start: number): Float64Array => {
    place(left, start, frames[0]);
    place(right, start, frames[1]);
    const [first, second] = [frames[0].byteOffset, frames[1].byteOffset];
    const [a, b] = [results[0].byteOffset, results[1].byteOffset];
    last = kernels.run.transform(first, second, size, gains.byteOffset, slope.length, turns.byteOffset, a, b);
    return last === a ? results[0] : results[1];
  };
  const separate = (mid: Float32Array, side: Float32Array): void => {
    kernels.run.separate(last, size, parts[0].byteOffset, parts[1].byteOffset);
    mid.set(parts[0]);
    side.set(parts[1]);
  };
  return Object.assign(transform, { separate });
}

/** Fills `frame` with the samples from `start` on, silence where there are none. */
function place(samples: Float32Array, start: number, frame: Float32Array): void {
  const first = Math.min(frame.length, Math.max(0, -start));
  const end = Math.max(first, Math.min(frame.length, samples.length - start));
  frame.fill(0, 0, first);
  frame.set(samples.subarray(start + first, start + end), first);
  frame.fill(0, end);
}
