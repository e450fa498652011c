import { framesOf, stretchOf, type Sound } from '../../audio/audio.ts';
import { isSilent } from '../../audio/silence.ts';
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

/** Spectra of a path by frame. A returned frame is valid until the next is requested. */
export interface Spectra {
  /** Frames. */
  readonly length: number;
  at(frame: number): Float32Array | undefined;
}

/** Computes the spectrum of a stereo path at one position, into a frame of the layout. */
type SpectrumTaker = (path: Sound, start: number, frame: Float32Array) => void;

const spectrumTaker = ({ size, mid, side, lows, lowLeft, lowRight }: FrameLayout): SpectrumTaker => {
  const transform = midSideTransformer(size);
  return (path, start, frame) => {
    const from = Math.max(0, start);
    const [left, right] = stretchOf(path, from, Math.min(framesOf(path), start + size)).channels;
    if (isSilent(left!) && isSilent(right!)) {
      frame.fill(0);
      return;
    }
    transform(left!, right!, start - from);
    transform.separate(frame.subarray(mid, side), frame.subarray(side, lowLeft));
    for (let at = 0; at < 2 * lows; at++) {
      frame[lowLeft + at] = frame[mid + at]! + frame[side + at]!;
      frame[lowRight + at] = frame[mid + at]! - frame[side + at]!;
    }
  };
};

/** Number of spectrum frames of a sound that is `frames` long. */
export const spectrumFrames = (frames: number, { size }: FrameLayout): number => windowStarts(frames, size).length;

/**
 * Spectra of stereo paths of one rate and length, frame by frame as for the spectrum of a single sound, single precision: each is computed when it
 * is requested, into the frame that `frameFor` gives for the path's index, and not kept here.
 */
export const passingSpectra = (
  paths: readonly Sound[],
  layout: FrameLayout,
  frameFor: (path: number, frame: number) => Float32Array = scratchFrames(layout),
): readonly Spectra[] => {
  const take = spectrumTaker(layout);
  const starts = windowStarts(framesOf(paths[0]!), layout.size);
  return paths.map((path, p) => {
    const at = (n: number): Float32Array => {
      const frame = frameFor(p, n);
      take(path, starts[n]!, frame);
      return frame;
    };
    return { length: starts.length, at };
  });
};

/** One reused frame for each path. */
export const scratchFrames = ({ length }: FrameLayout): ((path: number) => Float32Array) => {
  const frames: Float32Array[] = [];
  return (path) => (frames[path] ??= new Float32Array(length));
};
