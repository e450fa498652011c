import FFT from 'fft.js';

/** Magnitudes are averaged over this part of an octave to either side. */
const SMOOTHING = 1 / 12;

/** Beyond the known bins the response is extrapolated with the slope of this many octaves at their edge, limited to the second value. */
const EDGE_OCTAVES = 0.5;
const STEEPEST = 8;

/** Floor of a response, nepers below its greatest magnitude (-100 dB). */
const DEEPEST = 11.5;

/** Logarithms of the known magnitudes, averaged over SMOOTHING of an octave; NaN where nothing is known. */
const smoothed = (magnitude: Float64Array): Float64Array => {
  const bins = magnitude.length;
  const sums = new Float64Array(bins + 1);
  const counts = new Float64Array(bins + 1);
  magnitude.forEach((value, k) => {
    const known = value > 0;
    sums[k + 1] = sums[k]! + (known ? Math.log(value) : 0);
    counts[k + 1] = counts[k]! + (known ? 1 : 0);
  });
  const out = new Float64Array(bins).fill(Number.NaN);
  const factor = 2 ** SMOOTHING;
  for (let k = 1; k < bins; k++) {
    const low = Math.min(k, Math.max(1, Math.round(k / factor)));
    const high = Math.min(bins, Math.max(k, Math.round(k * factor)) + 1);
    const count = counts[high]! - counts[low]!;
    if (count > 0) out[k] = (sums[high]! - sums[low]!) / count;
  }
  return out;
};

/** Slope of `values` from bin `from` to `to` (from < to), per natural logarithm of frequency. */
const slopeOf = (values: Float64Array, from: number, to: number): number => {
  const slope = (values[to]! - values[from]!) / Math.log(to / from);
  return Number.isFinite(slope) ? Math.max(-STEEPEST, Math.min(STEEPEST, slope)) : 0;
};

/** Fills unknown bins: linear over the logarithm of frequency between known ones, with the edge's slope beyond. */
const filled = (values: Float64Array): void => {
  const known = [...values.keys()].filter((k) => !Number.isNaN(values[k]!));
  const first = known[0];
  const last = known.at(-1);
  if (first === undefined || last === undefined) {
    values.fill(0);
    return;
  }
  const floor = values.reduce((greatest, value) => (value > greatest ? value : greatest), -Infinity) - DEEPEST;
  const nearest = (bin: number): number =>
    known.reduce((best, k) => (Math.abs(k - bin) < Math.abs(best - bin) ? k : best));
  const rise = slopeOf(values, first, nearest(Math.round(first * 2 ** EDGE_OCTAVES)));
  const fall = slopeOf(values, nearest(Math.round(last / 2 ** EDGE_OCTAVES)), last);
  for (let k = 1; k < first; k++) values[k] = Math.max(floor, values[first]! + rise * Math.log(k / first));
  values[0] = values[1]!;
  for (let k = last + 1; k < values.length; k++) values[k] = Math.max(floor, values[last]! + fall * Math.log(k / last));
  let before = first;
  for (const after of known) {
    for (let k = before + 1; k < after; k++) {
      const part = Math.log(k / before) / Math.log(after / before);
      values[k] = values[before]! + part * (values[after]! - values[before]!);
    }
    before = after;
  }
};

/**
 * Phase, radians for each bin, of the filter of minimum phase that has this magnitude response (bins 0 .. n / 2 of a
 * transform of n, a power of two; NaN where it is not known): its logarithm's cepstrum, folded (Oppenheim and Schafer,
 * Discrete-Time Signal Processing; from memory). A filter made of poles and zeros inside the unit circle, as equalisers
 * are, has exactly this phase; only what it is late by beyond it is delay.
 */
export const minimumPhaseOf = (magnitude: Float64Array): Float64Array => {
  const logarithm = smoothed(magnitude);
  filled(logarithm);
  const half = magnitude.length - 1;
  const size = 2 * half;
  const fft = new FFT(size);
  const spectrum = new Float64Array(2 * size);
  for (let k = 0; k < size; k++) spectrum[2 * k] = logarithm[k <= half ? k : size - k]!;
  const cepstrum = new Float64Array(2 * size);
  // Of a real, even spectrum forward and inverse are the same but for the scale.
  fft.transform(cepstrum, spectrum);
  for (let n = 0; n < size; n++) {
    const folded = n === 0 || n === half ? 1 : n < half ? 2 : 0;
    cepstrum[2 * n] = (folded * cepstrum[2 * n]!) / size;
    cepstrum[2 * n + 1] = 0;
  }
  fft.transform(spectrum, cepstrum);
  return Float64Array.from({ length: half + 1 }, (_, k) => spectrum[2 * k + 1]!);
};
