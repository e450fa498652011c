import { sampleRate } from '../tempo.ts';
import type { Random } from '../random.ts';
import type { Signal } from '../signal.ts';

/** One resonance of a struck body: decaying sine. */
export interface Mode {
  readonly hz: number;
  readonly gain: number;
  /** Time to fall by 60 dB, s. */
  readonly seconds: number;
}

const floor = 1e-4;

/** Adds the ring of `modes`, struck at `start` frame, to `out`. Sines start at zero, so the onset has no step. */
export const ringModes = (out: Signal, start: number, modes: readonly Mode[], gain: number, decayScale = 1): void => {
  for (const mode of modes) {
    const level = mode.gain * gain;
    if (Math.abs(level) < floor) continue;
    const seconds = mode.seconds * decayScale;
    const radius = 10 ** (-3 / (seconds * sampleRate));
    const w = (2 * Math.PI * mode.hz) / sampleRate;
    const c1 = 2 * radius * Math.cos(w);
    const c2 = -radius * radius;
    const audible = (seconds * Math.log10(Math.abs(level) / floor) * sampleRate) / 3;
    const end = Math.min(out.length, start + Math.ceil(audible));
    let y1 = 0;
    let y2 = (-level * Math.sin(w)) / radius;
    for (let n = start; n < end; n++) {
      const y = c1 * y1 + c2 * y2;
      y2 = y1;
      y1 = y;
      out[n] = out[n]! + y;
    }
  }
};

/** Adds a noise burst: attack and T60 in seconds, through a one-pole pair that keeps `lowHz`..`highHz`. */
export const burst = (
  out: Signal,
  start: number,
  {
    gain,
    attack,
    decay,
    lowHz,
    highHz,
  }: { gain: number; attack: number; decay: number; lowHz: number; highHz: number },
  random: Random,
): void => {
  const fall = 10 ** (-3 / (decay * sampleRate));
  const rise = 1 - Math.exp(-1 / (attack * sampleRate));
  const high = 1 - Math.exp((-2 * Math.PI * highHz) / sampleRate);
  const low = 1 - Math.exp((-2 * Math.PI * lowHz) / sampleRate);
  const end = Math.min(
    out.length,
    start + Math.ceil((attack * 5 + (decay * Math.log10(gain / floor)) / 3) * sampleRate),
  );
  let level = gain;
  let open = 0;
  let h1 = 0;
  let h2 = 0;
  let l1 = 0;
  let l2 = 0;
  for (let n = start; n < end; n++) {
    open += (1 - open) * rise;
    level *= fall;
    h1 += high * (random.signed() - h1);
    h2 += high * (h1 - h2);
    l1 += low * (h2 - l1);
    l2 += low * (h2 - l1 - l2);
    out[n] = out[n]! + level * open * (h2 - l1 - l2);
  }
};

/** A plate of metal: `count` inharmonic modes between two frequencies, denser towards the top; high ones die sooner. */
export const metal = (
  random: Random,
  {
    count,
    lowHz,
    highHz,
    seconds,
    tilt,
  }: { count: number; lowHz: number; highHz: number; seconds: number; tilt: number },
): Mode[] =>
  Array.from({ length: count }, (_, i) => {
    const x = (i + 0.8 * random.next()) / count;
    const hz = lowHz * (highHz / lowHz) ** (x ** 0.75);
    const fade = (hz / lowHz) ** tilt;
    return {
      hz,
      gain: ((0.4 + random.next()) * (random.next() < 0.5 ? -1 : 1) * fade) / Math.sqrt(count),
      seconds: seconds * (lowHz / hz) ** 0.35 * (0.7 + 0.6 * random.next()),
    };
  });
