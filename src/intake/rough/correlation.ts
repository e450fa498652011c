import FFT from 'fft.js';

/** How far the cross-spectrum is whitened: 0 plain correlation, 1 phase alone. */
const WHITENING = 0.7;

const plans = new Map<number, FFT>();
const planOf = (size: number): FFT => {
  const plan = plans.get(size) ?? new FFT(size);
  plans.set(size, plan);
  return plan;
};

/** Where a correlation is greatest. */
export interface Peak {
  /** How late the second is, samples and parts of one (parabola through three values). */
  readonly lag: number;
  readonly polarity: 1 | -1;
  /** The peak over the root mean square of the correlation: strangers reach about 5. */
  readonly sharpness: number;
}

/**
 * The lag at which `b`, later by it, is most like `a`, among lags from `low` to `high`: cross-correlation with a partly
 * whitened spectrum (Knapp and Carter, IEEE Trans. ASSP 24(4), 1976), so that a few loud notes do not blur it.
 * null: one of them is silent.
 */
export const peakOf = (a: Float32Array, b: Float32Array, low: number, high: number): Peak | null => {
  const size = 2 ** Math.ceil(Math.log2(Math.max(2, a.length + b.length)));
  const fft = planOf(size);
  const data = new Float64Array(2 * size);
  for (let n = 0; n < a.length; n++) data[2 * n] = a[n]!;
  for (let n = 0; n < b.length; n++) data[2 * n + 1] = b[n]!;
  const out = new Float64Array(2 * size);
  fft.transform(out, data);
  let sum = 0;
  // The correlation is real: what stands at -k is the conjugate of what stands at k.
  for (let k = 0; k <= size / 2; k++) {
    const m = (size - k) % size;
    // Both spectra by symmetry: a in the real, b in the imaginary part.
    const aRe = (out[2 * k]! + out[2 * m]!) / 2;
    const aIm = (out[2 * k + 1]! - out[2 * m + 1]!) / 2;
    const bRe = (out[2 * k + 1]! + out[2 * m + 1]!) / 2;
    const bIm = (out[2 * m]! - out[2 * k]!) / 2;
    const re = aRe * bRe + aIm * bIm;
    const im = aIm * bRe - aRe * bIm;
    const power = re * re + im * im;
    const scale = power > 0 ? power ** (-WHITENING / 2) : 0;
    data[2 * k] = re * scale;
    data[2 * k + 1] = im * scale;
    data[2 * m] = re * scale;
    data[2 * m + 1] = m === k ? im * scale : -im * scale;
    sum += (m === k ? 1 : 2) * power * scale * scale;
  }
  if (!(sum > 0)) return null;
  fft.transform(out, data);
  const at = (lag: number): number => out[2 * (((lag % size) + size) % size)]!;
  let best = Math.ceil(low);
  for (let lag = best; lag <= high; lag++) if (Math.abs(at(lag)) > Math.abs(at(best))) best = lag;
  const [before, middle, after] = [at(best - 1), at(best), at(best + 1)];
  const bend = before - 2 * middle + after;
  const part = bend === 0 ? 0 : Math.max(-0.5, Math.min(0.5, (before - after) / (2 * bend)));
  return { lag: best + part, polarity: middle < 0 ? -1 : 1, sharpness: Math.abs(middle) / Math.sqrt(sum) };
};
