import FFT from 'fft.js';

/** How one signal lies against another that it resembles. */
export interface Alignment {
  /** How late the second is against the first, whole samples; negative: early. */
  readonly lagSamples: number;
  /** -1 when the second resembles the first upside down. */
  readonly polarity: 1 | -1;
  /** Mean coherence of the two over the band where they have energy, 0..1: below LEAST_COHERENCE there is no lag. */
  readonly coherence: number;
}

/** Below this mean coherence two signals share too little for a lag to mean anything. */
export const LEAST_COHERENCE = 0.1;

/** Segment of the averaged spectra, samples, and the greatest lag looked for: a quarter of it. */
export const SEGMENT = 16_384;
export const GREATEST_LAG = SEGMENT / 4;

/** At most so many segments are averaged, spread evenly over the sound: more would not move the answer. */
const MOST_SEGMENTS = 96;

/** Bins weaker than this part of the strongest (power, -60 dB) are left out: there is only noise in them. */
const LEAST_POWER = 1e-6;
/** Coherence is kept this far from 1, so that a perfect copy has a finite weight in every bin. */
const COHERENCE_ROOM = 1e-3;

/** Averaged auto and cross spectra of two signals, one number a bin, 0..SEGMENT/2. */
export interface Spectra {
  readonly first: Float64Array;
  readonly second: Float64Array;
  readonly crossReal: Float64Array;
  readonly crossImaginary: Float64Array;
  readonly segments: number;
}

/** Both real signals go through one complex transform; Hann segments, overlapping by half or less, the last filled with silence. */
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
  for (let at = 0; at < frames; at += hop) {
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

const isSilent = (signal: Float32Array): boolean => signal.every((sample) => sample === 0);

/**
 * Lag, polarity and coherence of `second` against `first` (one channel each, one rate), by the generalised
 * cross-correlation with the maximum-likelihood weighting of Knapp and Carter (IEEE Trans. ASSP 24(4), 1976; formula
 * from memory): each bin counts by coherence / (1 - coherence), whitened. Looks for lags up to GREATEST_LAG samples.
 * null when either is silent, or when the two share too little (mean coherence below LEAST_COHERENCE).
 */
export const alignmentOf = (first: Float32Array, second: Float32Array): Alignment | null => {
  if (isSilent(first) || isSilent(second)) return null;
  const { first: auto1, second: auto2, crossReal, crossImaginary, segments } = averagedSpectra(first, second);
  const least = LEAST_POWER * Math.max(...auto1.map((power, k) => Math.sqrt(power * auto2[k]!)));
  if (segments < 2) return null;
  const weighted = new Float64Array(2 * SEGMENT);
  let coherenceSum = 0;
  let powerSum = 0;
  for (let k = 1; k < auto1.length - 1; k++) {
    const power = Math.sqrt(auto1[k]! * auto2[k]!);
    if (power < least) continue;
    const size = Math.hypot(crossReal[k]!, crossImaginary[k]!);
    // With few segments two strangers look coherent by chance, by 1 / segments on average; take that off.
    const raw = (size / power) ** 2;
    const coherence = Math.max(0, (raw - 1 / segments) / (1 - 1 / segments));
    coherenceSum += coherence * power;
    powerSum += power;
    const weight = coherence / (1 - coherence + COHERENCE_ROOM) / size;
    if (!(weight > 0)) continue;
    // The forward transform of the conjugate spectrum is the inverse transform, mirrored consistently for real signals.
    weighted[2 * k] = crossReal[k]! * weight;
    weighted[2 * k + 1] = -crossImaginary[k]! * weight;
    weighted[2 * (SEGMENT - k)] = crossReal[k]! * weight;
    weighted[2 * (SEGMENT - k) + 1] = crossImaginary[k]! * weight;
  }
  const coherence = powerSum > 0 ? coherenceSum / powerSum : 0;
  if (coherence < LEAST_COHERENCE) return null;
  return { ...strongestLag(weighted), coherence };
};

/**
 * A lag of 0 is kept when it explains this much of what the best lag does: filters turn phase and so pull a broad peak
 * a few samples aside, while sound that is really late has a sharp one.
 */
const AS_GOOD = 0.75;

const strongestLag = (weighted: Float64Array): { lagSamples: number; polarity: 1 | -1 } => {
  const correlation = new Float64Array(2 * SEGMENT);
  new FFT(SEGMENT).transform(correlation, weighted);
  const atNone = correlation[0]!;
  let lagSamples = 0;
  let strongest = atNone;
  for (let lag = -GREATEST_LAG; lag <= GREATEST_LAG; lag++) {
    const value = correlation[2 * ((lag + SEGMENT) % SEGMENT)]!;
    if (Math.abs(value) > Math.abs(strongest)) {
      strongest = value;
      lagSamples = lag;
    }
  }
  const level = atNone / strongest >= AS_GOOD;
  return { lagSamples: level ? 0 : lagSamples, polarity: strongest < 0 ? -1 : 1 };
};
