import { Kernels } from './kernels.ts';

/** Most frames per call. */
export const STEREO_PIECE = 8192;

/** Sums of two channels with SIMD: the loops of SampleMeter and of StereoKWeighting. */
export interface StereoKernel {
  /** Input buffers: sound in them is summed in place, other sound is copied first. */
  readonly left: Float32Array;
  readonly right: Float32Array;
  /** Pairs: squares of left and right; of their sum and difference; products twice; samples; greatest sizes. */
  readonly sums: Float64Array;
  /** Coefficients and one of padding, then pairs: four of filter state, energies, products twice. */
  readonly weighted: Float64Array;
  /** Adds `count` frames (at most STEREO_PIECE) to `sums`; the greatest sizes are of these frames alone. */
  readonly addSums: (left: Float32Array, right: Float32Array, from: number, count: number) => void;
  /** The same for `weighted`. */
  readonly addWeighted: (left: Float32Array, right: Float32Array, from: number, count: number) => void;
}

let kernel: StereoKernel | null | undefined;

/** The one kernel, as calls do not overlap; null without SIMD. */
export function stereoKernel(): StereoKernel | null {
  return (kernel ??= kernel === null ? null : newStereoKernel());
}

function newStereoKernel(): StereoKernel | null {
  const kernels = Kernels.withRoom(8 * STEREO_PIECE + 1024);
  if (!kernels) return null;
  const { run } = kernels;
  const left = kernels.singles(STEREO_PIECE);
  const right = kernels.singles(STEREO_PIECE);
  const sums = kernels.doubles(10);
  const weighted = kernels.doubles(20);
  /** Byte offset of the frames in `left` and `right`. */
  const placed = (first: Float32Array, second: Float32Array, from: number, count: number): number => {
    if (first === left && second === right) return 4 * from;
    left.set(first.subarray(from, from + count));
    right.set(second.subarray(from, from + count));
    return 0;
  };
  return {
    ...{ left, right, sums, weighted },
    addSums(first, second, from, count) {
      const at = placed(first, second, from, count);
      run.addSums(left.byteOffset + at, right.byteOffset + at, count, sums.byteOffset);
    },
    addWeighted(first, second, from, count) {
      const at = placed(first, second, from, count);
      run.addWeighted(left.byteOffset + at, right.byteOffset + at, count, weighted.byteOffset);
    },
  };
}
