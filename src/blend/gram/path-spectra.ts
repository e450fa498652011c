import { framesOf, stretchOf, type Sound } from '../../audio/audio.ts';
import { LOWS, midSideTransformer, spectrumFrame, windowStarts } from '../../measure/spectrum.ts';

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

/** Spectra of a path by frame. A frame is looked at before the next is asked for. */
export interface Spectra {
  /** Frames. */
  readonly length: number;
  at(frame: number): Float32Array | undefined;
}

/** Takes the spectrum of a stereo path at one place, into a frame of the layout. */
type SpectrumTaker = (path: Sound, start: number, frame: Float32Array) => void;

const spectrumTaker = ({ size, mid, side, lows, lowLeft, lowRight }: FrameLayout): SpectrumTaker => {
  const transform = midSideTransformer(size);
  return (path, start, frame) => {
    const from = Math.max(0, start);
    const [left, right] = stretchOf(path, from, Math.min(framesOf(path), start + size)).channels;
    transform(left!, right!, start - from);
    transform.separate(frame.subarray(mid, side), frame.subarray(side, lowLeft));
    for (let at = 0; at < 2 * lows; at++) {
      frame[lowLeft + at] = frame[mid + at]! + frame[side + at]!;
      frame[lowRight + at] = frame[mid + at]! - frame[side + at]!;
    }
  };
};

/**
 * Spectra of a stereo path, frame by frame as the spectrum of a single sound is taken: single precision, 2.5 times the
 * sound's own memory. Kept, so that when another path changes only that one is transformed anew. Written into frames `old`
 * of the same layout where there are any: fresh memory takes as long as a good part of the transforms.
 */
export const spectraOf = (
  path: Sound,
  layout: FrameLayout,
  old: readonly Float32Array[] = [],
): readonly Float32Array[] => {
  const take = spectrumTaker(layout);
  return windowStarts(framesOf(path), layout.size).map((start, n) => {
    const frame = old[n] ?? new Float32Array(layout.length);
    take(path, start, frame);
    return frame;
  });
};

/** The same spectra, none of them kept: each is taken when it is asked for. One for each of the paths, all alike. */
export const passingSpectra = (paths: readonly Sound[], layout: FrameLayout): readonly Spectra[] => {
  const take = spectrumTaker(layout);
  const starts = windowStarts(framesOf(paths[0]!), layout.size);
  return paths.map((path) => {
    const frame = new Float32Array(layout.length);
    const at = (n: number): Float32Array => {
      take(path, starts[n]!, frame);
      return frame;
    };
    return { length: starts.length, at };
  });
};
