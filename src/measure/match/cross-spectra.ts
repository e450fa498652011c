import FFT from 'fft.js';

/** Segment of the averaged spectra, samples. */
export const SEGMENT = 16_384;

/** Most segments that are averaged, spread evenly over the sound: more would hardly change the result. */
const MOST_SEGMENTS = 96;

/** Averaged auto and cross spectra of two signals, one number a bin, 0..SEGMENT/2. */
export interface Spectra {
  readonly first: Float64Array;
  readonly second: Float64Array;
  readonly crossReal: Float64Array;
  readonly crossImaginary: Float64Array;
  readonly segments: number;
}

/**
 * Start of each segment. The last ends with the sound: a segment padded with silence would contain the cut, which is at the same
 * time in both signals at any lag, and dominates in sustained sound. Only sound shorter than two segments is padded.
 */
const startsOf = (frames: number, hop: number): readonly number[] => {
  const last = frames < 2 * SEGMENT ? frames : frames - SEGMENT;
  const starts = Array.from({ length: Math.ceil(last / hop) }, (_, n) => n * hop);
  return last === frames ? starts : [...starts, last];
};

/** Both real signals go through one complex transform; Hann segments, overlapping by half or less but for the last. */
export const averagedSpectra = (first: Float32Array, second: Float32Array): Spectra => {
  const fft = new FFT(SEGMENT);
  const bins = SEGMENT / 2 + 1;
  const window = Float64Array.from({ length: SEGMENT }, (_, n) => 0.5 - 0.5 * Math.cos((2 * Math.PI * n) / SEGMENT));
  const data = new Float64Array(2 * SEGMENT);
  const out = new Float64Array(2 * SEGMENT);
  const spectra = {
    first: new Float64Array(bins),
    second: new Float64Array(bins),
    crossReal: new Float64Array(bins),
    crossImaginary: new Float64Array(bins),
    segments: 0,
  };
  const frames = Math.min(first.length, second.length);
  const hop = Math.max(SEGMENT / 2, Math.ceil(frames / MOST_SEGMENTS));
  for (const at of startsOf(frames, hop)) {
    for (let n = 0; n < SEGMENT; n++) {
      data[2 * n] = window[n]! * (first[at + n] ?? 0);
      data[2 * n + 1] = window[n]! * (second[at + n] ?? 0);
    }
    fft.transform(out, data);
    addSegment(out, spectra);
    spectra.segments++;
  }
  return spectra;
};

/** Separates the two spectra by symmetry and adds their products. */
const addSegment = (out: Float64Array, { first, second, crossReal, crossImaginary }: Spectra): void => {
  for (let k = 0; k < first.length; k++) {
    const mirrored = (SEGMENT - k) % SEGMENT;
    const re = out[2 * k]!;
    const im = out[2 * k + 1]!;
    const mirroredRe = out[2 * mirrored]!;
    const mirroredIm = out[2 * mirrored + 1]!;
    const aRe = (re + mirroredRe) / 2;
    const aIm = (im - mirroredIm) / 2;
    const bRe = (im + mirroredIm) / 2;
    const bIm = (mirroredRe - re) / 2;
    first[k]! += aRe * aRe + aIm * aIm;
    second[k]! += bRe * bRe + bIm * bIm;
    crossReal[k]! += aRe * bRe + aIm * bIm;
    crossImaginary[k]! += aRe * bIm - aIm * bRe;
  }
};

/** A signal `samples` later, as long as it was. */
export const shiftedBy = (signal: Float32Array, samples: number): Float32Array => {
  const out = new Float32Array(signal.length);
  if (samples >= 0) out.set(signal.subarray(0, Math.max(0, signal.length - samples)), samples);
  else out.set(signal.subarray(-samples));
  return out;
};
