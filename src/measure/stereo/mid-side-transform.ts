import FFT from 'fft.js';
import { transformKernel, type MidSideTransform } from '../kernels/transform-kernel.ts';

/** Part of a frame that it shares with the next. */
export const OVERLAP = 1 / 4;

/** Transformers by size: their tables cost more than a transform. */
const transformers = new Map<number, MidSideTransform>();

/**
 * A transformer of windowed frames of mid + i side (2 x size numbers, which hold until the next): mid and side are the
 * parts of the transform that are even and odd under conjugation, so one complex transform serves both.
 */
export function midSideTransformer(size: number): MidSideTransform {
  const transformer = transformers.get(size) ?? transformKernel(size, slopeOf(size)) ?? plainTransformer(size);
  transformers.set(size, transformer);
  return transformer;
}

/** The same without SIMD. */
export function plainTransformer(size: number): MidSideTransform {
  const slope = slopeOf(size);
  const plan = new FFT(size);
  const data = new Float64Array(2 * size);
  const out = new Float64Array(2 * size);
  const transform = (left: Float32Array, right: Float32Array, start: number): Float64Array => {
    loadMidSide(left, right, start, slope, data);
    plan.transform(out, data);
    return out;
  };
  return Object.assign(transform, {
    separate: (mid: Float32Array, side: Float32Array) => plainSeparate(out, mid, side),
  });
}

function plainSeparate(transform: Float64Array, mid: Float32Array, side: Float32Array): void {
  const size = transform.length / 2;
  for (let bin = 0; bin <= size / 2; bin++) {
    const mirror = bin === 0 ? 0 : size - bin;
    const re = transform[2 * bin]!;
    const im = transform[2 * bin + 1]!;
    const mirrorRe = transform[2 * mirror]!;
    const mirrorIm = transform[2 * mirror + 1]!;
    mid[2 * bin] = (re + mirrorRe) / 2;
    mid[2 * bin + 1] = (im - mirrorIm) / 2;
    side[2 * bin] = (im + mirrorIm) / 2;
    side[2 * bin + 1] = (mirrorRe - re) / 2;
  }
}

/**
 * Rising slope of the window of `size`, which is level between it and the same falling: the squares of a slope add up to
 * 1 with those of its neighbour's (the sine of a squared sine, which is smooth where it meets the level part).
 */
export function slopeOf(size: number): Float64Array {
  const slope = size * OVERLAP;
  return Float64Array.from({ length: slope }, (_, n) =>
    Math.sin((Math.PI / 2) * Math.sin((Math.PI / 2) * ((n + 0.5) / slope)) ** 2),
  );
}

/** Writes the windowed frame from `start` on as mid + i side into `data`, silence where there are no samples. */
function loadMidSide(
  left: Float32Array,
  right: Float32Array,
  start: number,
  slope: Float64Array,
  data: Float64Array,
): void {
  data.fill(0);
  const size = data.length / 2;
  const end = Math.min(size, left.length - start);
  for (let n = Math.max(0, -start); n < end; n++) {
    const inside = Math.min(n, size - 1 - n);
    const gain = inside < slope.length ? 0.5 * slope[inside]! : 0.5;
    const l = left[start + n]!;
    const r = right[start + n]!;
    data[2 * n] = gain * (l + r);
    data[2 * n + 1] = gain * (l - r);
  }
}
