import { framesOf, type Audio } from '../dsp/audio.ts';
import { LOWS, midSideTransformer, spectrumFrame, windowStarts } from '../measure/spectrum.ts';

/** Where the parts of one frame's spectrum stand in its array, elements; real and imaginary parts take turns. */
export interface FrameLayout {
  readonly size: number;
  /** Bins of mid and of side, 0 .. size / 2, and those below LOWS. */
  readonly bins: number;
  readonly lows: number;
  /** First elements of mid and of side, then of the lows of left and right. */
  readonly mid: number;
  readonly side: number;
  readonly lowLeft: number;
  readonly lowRight: number;
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
    mid: 0,
    side: 2 * bins,
    lowLeft: 4 * bins,
    lowRight: 4 * bins + 2 * lows,
    length: 4 * (bins + lows),
  };
};

/** Takes mid and side apart out of the transform of mid + i side. */
const separate = (transform: Float64Array, layout: FrameLayout, into: Float32Array): void => {
  const { size, bins, lows, side, lowLeft, lowRight } = layout;
  for (let bin = 0; bin < bins; bin++) {
    const mirror = bin === 0 ? 0 : size - bin;
    const re = transform[2 * bin]!;
    const im = transform[2 * bin + 1]!;
    const mirrorRe = transform[2 * mirror]!;
    const mirrorIm = transform[2 * mirror + 1]!;
    into[2 * bin] = (re + mirrorRe) / 2;
    into[2 * bin + 1] = (im - mirrorIm) / 2;
    into[side + 2 * bin] = (im + mirrorIm) / 2;
    into[side + 2 * bin + 1] = (mirrorRe - re) / 2;
  }
  for (let n = 0; n < 2 * lows; n++) {
    into[lowLeft + n] = into[n]! + into[side + n]!;
    into[lowRight + n] = into[n]! - into[side + n]!;
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
