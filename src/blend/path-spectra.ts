import { framesOf, type Audio } from '../dsp/audio.ts';
import { LOWS, midSideTransformer, spectrumFrame, windowStarts } from '../measure/spectrum.ts';

/** Where the parts of one frame's spectrum stand in its array, elements. */
export interface FrameLayout {
  readonly size: number;
  /** Bins of mid and of side, 0 .. size / 2, and those below LOWS. */
  readonly bins: number;
  readonly lows: number;
  /** First elements: real and imaginary parts of mid and side, then of the lows of left and right. */
  readonly mid: readonly [number, number];
  readonly side: readonly [number, number];
  readonly lowLeft: readonly [number, number];
  readonly lowRight: readonly [number, number];
  readonly length: number;
}

/** Layout at `sampleRate`. */
export const frameLayout = (sampleRate: number): FrameLayout => {
  const size = spectrumFrame(sampleRate);
  const bins = size / 2 + 1;
  const lows = Math.min(size / 2, Math.ceil((LOWS * size) / sampleRate));
  return {
    size,
    bins,
    lows,
    mid: [0, bins],
    side: [2 * bins, 3 * bins],
    lowLeft: [4 * bins, 4 * bins + lows],
    lowRight: [4 * bins + 2 * lows, 4 * bins + 3 * lows],
    length: 4 * (bins + lows),
  };
};

/** Takes mid and side apart out of the transform of mid + i side. */
const separate = (transform: Float64Array, { size, bins, lows }: FrameLayout, into: Float32Array): void => {
  for (let bin = 0; bin < bins; bin++) {
    const mirror = bin === 0 ? 0 : size - bin;
    const re = transform[2 * bin]!;
    const im = transform[2 * bin + 1]!;
    const mirrorRe = transform[2 * mirror]!;
    const mirrorIm = transform[2 * mirror + 1]!;
    into[bin] = (re + mirrorRe) / 2;
    into[bins + bin] = (im - mirrorIm) / 2;
    into[2 * bins + bin] = (im + mirrorIm) / 2;
    into[3 * bins + bin] = (mirrorRe - re) / 2;
  }
  const at = 4 * bins;
  for (let bin = 0; bin < lows; bin++) {
    const [midRe, midIm] = [into[bin]!, into[bins + bin]!];
    const [sideRe, sideIm] = [into[2 * bins + bin]!, into[3 * bins + bin]!];
    into[at + bin] = midRe + sideRe;
    into[at + lows + bin] = midIm + sideIm;
    into[at + 2 * lows + bin] = midRe - sideRe;
    into[at + 3 * lows + bin] = midIm - sideIm;
  }
};

/**
 * Spectra of a stereo path, frame by frame as the spectrum of a single sound is taken: single precision, 4 / 3 of the
 * sound's own memory. Kept, so that when another path changes only that one is transformed anew.
 */
export const spectraOf = (path: Audio, layout: FrameLayout): readonly Float32Array[] => {
  const transform = midSideTransformer(layout.size);
  const [left, right] = path.channels as [Float32Array, Float32Array];
  return windowStarts(framesOf(path), layout.size).map((start) => {
    const frame = new Float32Array(layout.length);
    separate(transform(left, right, start), layout, frame);
    return frame;
  });
};
