import FFT from 'fft.js';
import { LOOKED_AT, resample } from '../../audio/resample.ts';
import { GREATEST_LAG } from './alignment.ts';

/** Rate at which long lags are looked for, Hz: fine enough for `matchOf` to find the rest. */
const COARSE_RATE = 4000;
/** A long lag must explain this much more than the best short one. */
const CLEARLY = 1.05;

/**
 * Samples by which `second` is late, roughly (to a few ms), where that is more than `alignmentOf` looks for; 0 where it
 * is not, or cannot be told. Cross-correlation over the whole of both.
 */
export const longLagOf = (first: Float32Array, second: Float32Array, sampleRate: number): number => {
  const coarse = (channel: Float32Array): Float32Array =>
    resample({ sampleRate, channels: [channel] }, Math.min(sampleRate, COARSE_RATE), LOOKED_AT).channels[0]!;
  const [a, b] = [coarse(first), coarse(second)];
  const size = 2 ** Math.ceil(Math.log2(Math.max(2, a.length + b.length)));
  const correlation = correlate(a, b, size);
  const scale = sampleRate / Math.min(sampleRate, COARSE_RATE);
  const short = Math.floor(GREATEST_LAG / 2 / scale);
  let [near, far, farLag] = [0, 0, 0];
  for (let lag = 1 - a.length; lag < b.length; lag++) {
    const value = Math.abs(correlation[2 * ((lag + size) % size)]!);
    if (Math.abs(lag) <= short) near = Math.max(near, value);
    else if (value > far) [far, farLag] = [value, lag];
  }
  return far > CLEARLY * near ? Math.round(farLag * scale) : 0;
};

/** Real parts (every second number) of the circular cross-correlation; place k: how well `b`, k later, is `a`. */
const correlate = (a: Float32Array, b: Float32Array, size: number): Float64Array => {
  const fft = new FFT(size);
  const data = new Float64Array(2 * size);
  for (let n = 0; n < size; n++) {
    data[2 * n] = a[n] ?? 0;
    data[2 * n + 1] = b[n] ?? 0;
  }
  const out = new Float64Array(2 * size);
  fft.transform(out, data);
  // Both spectra by symmetry; the forward transform of the conjugate product is the inverse one, mirrored for real signals.
  for (let k = 0; k < size; k++) {
    const m = (size - k) % size;
    const [re, im, mirroredRe, mirroredIm] = [out[2 * k]!, out[2 * k + 1]!, out[2 * m]!, out[2 * m + 1]!];
    const [aRe, aIm] = [(re + mirroredRe) / 2, (im - mirroredIm) / 2];
    const [bRe, bIm] = [(im + mirroredIm) / 2, (mirroredRe - re) / 2];
    data[2 * k] = aRe * bRe + aIm * bIm;
    data[2 * k + 1] = aIm * bRe - aRe * bIm;
  }
  fft.transform(out, data);
  return out;
};
