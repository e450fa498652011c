import { fourier } from './signals.ts';

/** Schroeder's curve: energy still to come, dB relative to all of it. */
export function energyDecay(response: Float64Array): Float64Array {
  const curve = new Float64Array(response.length);
  let sum = 0;
  for (let n = response.length - 1; n >= 0; n--) {
    sum += response[n]! ** 2;
    curve[n] = sum;
  }
  return curve.map((energy) => 10 * Math.log10(energy / sum));
}

/** Decay time to 60 dB, seconds, from the least-squares line over part of the energy decay (ISO 3382-1: T30 is -5 to -35 dB). */
export function decayTime(response: Float64Array, fromDb = -5, toDb = -35, sampleRate = 48000): number {
  const curve = energyDecay(response);
  const start = curve.findIndex((db) => db <= fromDb);
  const part = curve.slice(
    start,
    curve.findIndex((db) => db <= toDb),
  );
  const middle = (part.length - 1) / 2;
  const mean = part.reduce((sum, db) => sum + db, 0) / part.length;
  const slope =
    part.reduce((sum, db, n) => sum + (n - middle) * (db - mean), 0) /
    part.reduce((sum, _, n) => sum + (n - middle) ** 2, 0);
  return -60 / (slope * sampleRate);
}

/** One octave around `hz`: a raised cosine over log frequency, whose own ringing is over long before a reverb's. */
export function octave(response: Float64Array, hz: number, sampleRate = 48000): Float64Array {
  const length = 2 ** Math.ceil(Math.log2(2 * response.length));
  const re = new Float64Array(length);
  const im = new Float64Array(length);
  re.set(response);
  fourier(re, im);
  for (let bin = 0; bin < length; bin++) {
    const octaves = Math.log2((Math.min(bin, length - bin) * sampleRate) / length / hz);
    const gain = Math.abs(octaves) < 1 ? Math.cos((Math.PI / 2) * octaves) ** 2 : 0;
    re[bin]! *= gain;
    im[bin]! *= -gain; // the conjugate makes the second transform an inverse one
  }
  fourier(re, im);
  return re.slice(0, response.length).map((x) => x / length);
}

/**
 * Normalised echo density (Abel and Huang, AES 121, 2006) over a Hann window of 20 ms around `seconds`: the share of samples
 * beyond one standard deviation, over that of Gaussian noise; 1 is a diffuse tail.
 */
export function echoDensity(response: Float64Array, seconds: number, sampleRate = 48000): number {
  const length = Math.round(0.02 * sampleRate);
  const from = Math.round(seconds * sampleRate) - length / 2;
  const weights = Float64Array.from({ length }, (_, n) => 0.5 - 0.5 * Math.cos((2 * Math.PI * n) / length));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const power = weights.reduce((sum, weight, n) => sum + weight * response[from + n]! ** 2, 0) / total;
  const beyond = weights.reduce((sum, weight, n) => sum + (response[from + n]! ** 2 > power ? weight : 0), 0) / total;
  return beyond / 0.317311;
}

/** How evenly a tail rings. */
export interface TailFigures {
  /** Spread of the spectrum's levels about their neighbourhood, standard deviation in dB; 5.57 for Gaussian noise. */
  readonly spreadDb: number;
  /** Largest magnitude of the normalised autocorrelation from 2 ms to 170 ms; about 0.04 for Gaussian noise. */
  readonly repetition: number;
}

/** Figures of 16384 samples of a tail from `seconds` on, its decay of 60 dB in `decay` seconds undone; 100 Hz to 10 kHz. */
export function tailFigures(response: Float64Array, decay: number, seconds: number, sampleRate = 48000): TailFigures {
  const length = 16384;
  const from = Math.round(seconds * sampleRate);
  const re = Float64Array.from({ length }, (_, n) => {
    const window = 0.5 - 0.5 * Math.cos((2 * Math.PI * n) / length);
    return response[from + n]! * window * 10 ** ((3 * (from + n)) / (decay * sampleRate));
  });
  const im = new Float64Array(length);
  fourier(re, im);
  const power = Float64Array.from(re, (x, bin) => x * x + im[bin]! ** 2);
  const [first, last] = [100, 10000].map((hz) => Math.round((hz * length) / sampleRate)) as [number, number];
  const levels: number[] = [];
  for (let bin = first; bin < last; bin += 2) {
    const near = power.subarray(Math.max(1, Math.floor(bin / 1.12) - 20), Math.ceil(bin * 1.12) + 20);
    levels.push(10 * Math.log10((power[bin]! * near.length) / near.reduce((sum, x) => sum + x, 0)));
  }
  const mean = levels.reduce((sum, db) => sum + db, 0) / levels.length;
  const spreadDb = Math.sqrt(levels.reduce((sum, db) => sum + (db - mean) ** 2, 0) / levels.length);
  const none = new Float64Array(length);
  fourier(power, none);
  const lags = power.subarray(Math.round(0.002 * sampleRate), length / 2);
  return { spreadDb, repetition: lags.reduce((most, x) => Math.max(most, Math.abs(x)), 0) / power[0]! };
}

/** Statistics of a late field. */
export interface LateField {
  /** Standard deviation of the levels about their local mean, dB. */
  readonly spreadDb: number;
  /** Highest level above the local mean, dB. */
  readonly peakDb: number;
  /** Largest magnitude of the normalised autocorrelation from 2 to 170 ms, the decay of 60 dB undone. */
  readonly repetition: number;
}

/** Level of each frequency from 300 Hz to 8 kHz above the mean power of the third octave around it, dB. */
function levelsAboveMean(power: Float64Array, hzPerBin: number): readonly number[] {
  const sums = new Float64Array(power.length + 1);
  power.forEach((x, bin) => (sums[bin + 1] = sums[bin]! + x));
  const levels: number[] = [];
  for (let bin = Math.ceil(300 / hzPerBin); bin <= 8000 / hzPerBin; bin++) {
    const [from, to] = [Math.floor(bin * 2 ** (-1 / 6)), Math.ceil(bin * 2 ** (1 / 6)) + 1];
    levels.push(10 * Math.log10((power[bin]! * (to - from)) / (sums[to]! - sums[from]!)));
  }
  return levels;
}

/** Power spectrum of `samples`, padded to `length`, a power of two. */
function powerSpectrum(samples: Float64Array, length: number): Float64Array {
  const re = new Float64Array(length);
  const im = new Float64Array(length);
  re.set(samples);
  fourier(re, im);
  return re.map((x, bin) => x * x + im[bin]! ** 2);
}

/**
 * Statistics of a response from 100 ms on, over 2.2 times its decay time in seconds; its repetition over at most 2^17 samples.
 * Decaying Gaussian noise has 5.6 dB (Schroeder 1954), about 10 dB (Schroeder and Kuttruff 1962) and, from 1.5 s of decay on, 0.011.
 */
export function lateField(response: Float64Array, decay: number, sampleRate = 48000): LateField {
  const from = Math.round(0.1 * sampleRate);
  const late = response.slice(from, from + Math.round(2.2 * decay * sampleRate));
  const length = 2 ** Math.ceil(Math.log2(late.length));
  const levels = levelsAboveMean(powerSpectrum(late, length), sampleRate / length);
  const mean = levels.reduce((sum, db) => sum + db, 0) / levels.length;
  const spreadDb = Math.sqrt(levels.reduce((sum, db) => sum + (db - mean) ** 2, 0) / levels.length);
  const level = late.slice(0, 2 ** 17).map((x, n) => x * 10 ** ((3 * n) / (decay * sampleRate)));
  const correlation = powerSpectrum(level, 2 ** Math.ceil(Math.log2(2 * level.length)));
  fourier(correlation, new Float64Array(correlation.length));
  const lags = correlation.subarray(Math.round(0.002 * sampleRate), Math.round(0.17 * sampleRate));
  const repetition = lags.reduce((most, x) => Math.max(most, Math.abs(x)), 0) / correlation[0]!;
  return { spreadDb, peakDb: levels.reduce((most, db) => Math.max(most, db), -Infinity), repetition };
}

/** Mean power of the frequencies in the third octave around each of `bands`, Hz. */
export function thirdOctavePowers(
  response: Float64Array,
  bands: readonly number[],
  sampleRate = 48000,
): readonly number[] {
  const length = 2 ** Math.ceil(Math.log2(response.length));
  const power = powerSpectrum(response, length);
  return bands.map((hz) => {
    const [from, to] = [2 ** (-1 / 6), 2 ** (1 / 6)].map((ratio) => Math.round((ratio * hz * length) / sampleRate));
    const part = power.subarray(from, to);
    return part.reduce((sum, x) => sum + x, 0) / part.length;
  });
}
