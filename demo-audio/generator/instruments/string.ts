import type { Random } from '../random.ts';
import type { Signal } from '../signal.ts';
import { sampleRate } from '../tempo.ts';

/** How one note is plucked on one string. */
export interface Pluck {
  readonly hz: number;
  /** How long the string is left alone, s. */
  readonly seconds: number;
  /** Fade when the finger leaves or the next note takes the string, s. */
  readonly release: number;
  readonly gain: number;
  /** Plucking point and pickup, as shares of the string's length from the bridge. */
  readonly pluckAt: number;
  readonly pickupAt: number;
  /** Corner of the excitation, Hz: a finger is soft, a pick hard. */
  readonly edgeHz: number;
  /** T60 of the lowest partial, s. */
  readonly sustain: number;
  /** Loss of treble in the loop, 0..1. */
  readonly damping: number;
  /** Share of noise in the excitation. */
  readonly scrape: number;
}

/** One period of the velocity of a plucked string (a pulse whose duty is the plucking point), softened, with scrape. */
const excitation = (period: number, { pluckAt, edgeHz, scrape }: Pluck, random: Random): Float64Array => {
  const length = Math.ceil(period);
  const wave = new Float64Array(length);
  const scale = 1 / Math.sqrt(pluckAt * (1 - pluckAt));
  for (let i = 0; i < length; i++) {
    const pulse = i / period < pluckAt ? 1 - pluckAt : -pluckAt;
    wave[i] = scale * pulse + scrape * random.signed();
  }
  const soften = 1 - Math.exp((-2 * Math.PI * edgeHz) / sampleRate);
  for (let pass = 0; pass < 2; pass++) {
    let level = 0;
    for (let i = 0; i < 2 * length; i++) {
      level += soften * (wave[i % length]! - level);
      if (i >= length) wave[i - length] = level;
    }
  }
  return wave;
};

/**
 * Adds a plucked string to `out`: a delay loop with loss (Karplus and Strong 1983, Jaffe and Smith 1983), tuned by
 * third-order Lagrange interpolation less the delay of the loss filter, heard through a pickup.
 */
export const pluckString = (out: Signal, start: number, pluck: Pluck, random: Random): void => {
  const { hz, damping, gain } = pluck;
  const period = sampleRate / hz;
  const w = (2 * Math.PI * hz) / sampleRate;
  const lag = Math.atan2(damping * Math.sin(w), 1 - damping * Math.cos(w)) / w;
  const lossAtPitch = (1 - damping) / Math.sqrt(1 - 2 * damping * Math.cos(w) + damping * damping);
  const loop = Math.min(0.99999, 10 ** (-3 / (hz * pluck.sustain)) / lossAtPitch) * (1 - damping);
  const whole = Math.floor(period - lag) - 1;
  const f = period - lag - whole;
  const h0 = (-(f - 1) * (f - 2) * (f - 3)) / 6;
  const h1 = (f * (f - 2) * (f - 3)) / 2;
  const h2 = (-f * (f - 1) * (f - 3)) / 2;
  const h3 = (f * (f - 1) * (f - 2)) / 6;
  const size = 2 ** Math.ceil(Math.log2(period + 4));
  const mask = size - 1;
  const line = new Float64Array(size);
  const wave = excitation(period, pluck, random);
  for (let i = 0; i < wave.length; i++) line[(size - wave.length + i) & mask] = wave[i]!;
  const tap = Math.round(pluck.pickupAt * period);
  const release = Math.max(1, Math.round(pluck.release * sampleRate));
  const length = Math.min(out.length - start, Math.round(pluck.seconds * sampleRate) + release);
  let kept = 0;
  for (let n = 0; n < length; n++) {
    const at = n - whole;
    const x =
      h0 * line[at & mask]! + h1 * line[(at - 1) & mask]! + h2 * line[(at - 2) & mask]! + h3 * line[(at - 3) & mask]!;
    kept = loop * x + damping * kept;
    line[n & mask] = kept;
    const left = Math.min(1, (length - n) / release);
    const onset = n < 48 ? n / 48 : 1;
    out[start + n] = out[start + n]! + gain * onset * left * left * (kept - line[(n - tap) & mask]!);
  }
};
