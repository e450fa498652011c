import type { Audio } from '../../src/audio/audio.ts';
import { gainOf } from '../../src/audio/decibels.ts';

/** Test signals made from their description alone, so that every run measures the same samples. */

/** A full description of a sine; `db` is the peak level, dB with full scale 1.0. */
export interface Tone {
  readonly hz: number;
  readonly seconds: number;
  readonly db?: number;
  readonly rate?: number;
  /** Phase of the first sample, radians (0 starts a sine at zero, rising). */
  readonly phase?: number;
}

const framesIn = (seconds: number, rate: number): number => Math.round(seconds * rate);

/** One-channel sine. */
export function sine({ hz, seconds, db = 0, rate = 48000, phase = 0 }: Tone): Float32Array {
  const gain = gainOf(db);
  const step = (2 * Math.PI * hz) / rate;
  return Float32Array.from({ length: framesIn(seconds, rate) }, (_, n) => gain * Math.sin(step * n + phase));
}

/** A stretch of a level: seconds, then peak dB of the tone, or null for silence. */
export type Stretch = readonly [seconds: number, db: number | null];

/** One sine whose phase runs on while its level steps through `stretches`, as EBU Tech 3341 and 3342 describe. */
export function steppedSine(stretches: readonly Stretch[], hz = 1000, rate = 48000): Float32Array {
  const parts = stretches.map(([seconds, db]) => ({
    frames: framesIn(seconds, rate),
    gain: db === null ? 0 : gainOf(db),
  }));
  const out = new Float32Array(parts.reduce((sum, { frames }) => sum + frames, 0));
  const step = (2 * Math.PI * hz) / rate;
  let at = 0;
  for (const { frames, gain } of parts) {
    for (const end = at + frames; at < end; at++) out[at] = gain * Math.sin(step * at);
  }
  return out;
}

/** Silence of `seconds`. */
export const silence = (seconds: number, rate = 48000): Float32Array => new Float32Array(framesIn(seconds, rate));

/** Uniform random numbers in [0, 1), the same for the same seed (mulberry32). */
export function seeded(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let x = Math.imul(state ^ (state >>> 15), state | 1);
    x ^= x + Math.imul(x ^ (x >>> 7), x | 61);
    return ((x ^ (x >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** White Gaussian noise of `rms` (expected value; one seed, one noise). */
export function whiteNoise(seconds: number, seed: number, rms = 0.1, rate = 48000): Float32Array {
  const random = seeded(seed);
  const gaussian = (): number => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
  return Float32Array.from({ length: framesIn(seconds, rate) }, () => rms * gaussian());
}

/**
 * Pink noise from 20 Hz to 20 kHz (or to 0.45 of the rate where that is lower): cosines at all multiples of one over
 * its length, with power 1/f and seeded phases. Its spectrum and `rms` are exact, and it repeats without a seam.
 * The length is `seconds` or the next more that makes a power of two of samples.
 */
export function pinkNoise(seconds: number, seed: number, rms = 0.1, rate = 48000): Float32Array {
  const frames = 2 ** Math.ceil(Math.log2(framesIn(seconds, rate)));
  const name = [frames, seed, rms, rate].join();
  const noise = madeNoises.get(name) ?? makePinkNoise(frames, seed, rms, rate);
  if (frames <= KEPT_FRAMES) madeNoises.set(name, noise);
  if (madeNoises.size > KEPT_NOISES) madeNoises.delete(madeNoises.keys().next().value!);
  return noise.slice();
}

/** Many tests ask for the same noise, which takes longer to make than most of what is done with it: so many are kept. */
const KEPT_NOISES = 24;
const KEPT_FRAMES = 2 ** 19;
const madeNoises = new Map<string, Float32Array>();

function makePinkNoise(frames: number, seed: number, rms: number, rate: number): Float32Array {
  const random = seeded(seed);
  const re = new Float64Array(frames);
  const im = new Float64Array(frames);
  const hzPerBin = rate / frames;
  const last = Math.min(20000, 0.45 * rate) / hzPerBin;
  for (let bin = Math.ceil(20 / hzPerBin); bin <= last; bin++) {
    const phase = 2 * Math.PI * random();
    re[bin] = Math.cos(phase) / Math.sqrt(bin);
    im[bin] = Math.sin(phase) / Math.sqrt(bin);
  }
  fourier(re, im);
  const power = re.reduce((sum, x) => sum + x * x, 0) / frames;
  return Float32Array.from(re, (x) => (rms * x) / Math.sqrt(power));
}

/** Cosines and sines of the turns of a transform of `size`, made once. */
const turnsOf = (() => {
  const known = new Map<number, { cos: Float64Array; sin: Float64Array }>();
  return (size: number) => {
    let turns = known.get(size);
    if (!turns) {
      turns = { cos: new Float64Array(size / 2), sin: new Float64Array(size / 2) };
      for (let k = 0; k < size / 2; k++) {
        turns.cos[k] = Math.cos((-2 * Math.PI * k) / size);
        turns.sin[k] = Math.sin((-2 * Math.PI * k) / size);
      }
      known.set(size, turns);
    }
    return turns;
  };
})();

/** In-place radix-2 Fourier transform (power-of-two length, forward, not scaled). */
export function fourier(re: Float64Array, im: Float64Array): void {
  const n = re.length;
  for (let i = 1, j = 0; i < n; i++) {
    let bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j |= bit;
    if (i < j) {
      const [real, imaginary] = [re[i]!, im[i]!];
      re[i] = re[j]!;
      im[i] = im[j]!;
      re[j] = real;
      im[j] = imaginary;
    }
  }
  for (let size = 2; size <= n; size *= 2) {
    const half = size / 2;
    const { cos, sin } = turnsOf(size);
    for (let from = 0; from < n; from += size) {
      for (let k = 0; k < half; k++) {
        const a = from + k;
        const b = a + half;
        const xr = re[b]! * cos[k]! - im[b]! * sin[k]!;
        const xi = re[b]! * sin[k]! + im[b]! * cos[k]!;
        re[b] = re[a]! - xr;
        im[b] = im[a]! - xi;
        re[a] = re[a]! + xr;
        im[a] = im[a]! + xi;
      }
    }
  }
}

/** Parts one after another. */
export function joined(...parts: readonly Float32Array[]): Float32Array {
  const out = new Float32Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

/** `samples` times a linear gain (-1 turns the polarity). */
export const scaled = (samples: Float32Array, gain: number): Float32Array => samples.map((x) => x * gain);

/** Sample by sample sum of two signals of one length. */
export const added = (a: Float32Array, b: Float32Array): Float32Array => a.map((x, n) => x + b[n]!);

/** Linear fade over the first and last `seconds`. */
export function faded(samples: Float32Array, seconds: number, rate = 48000): Float32Array {
  const frames = framesIn(seconds, rate);
  return samples.map((x, n) => x * Math.min(1, n / frames, (samples.length - 1 - n) / frames));
}

/** One-channel sound. */
export const mono = (samples: Float32Array, sampleRate = 48000): Audio => ({ sampleRate, channels: [samples] });

/** Two-channel sound; one signal alone goes to both sides. */
export const stereo = (left: Float32Array, right: Float32Array = left, sampleRate = 48000): Audio => ({
  sampleRate,
  channels: [left, right],
});
