import type { Audio } from '../../audio/audio.ts';
import { median, quantile } from '../rough/median.ts';
import { solveAt } from '../rough/normal-equations.ts';

/** Mains frequencies, Hz. */
export const MAINS = [50, 60] as const;

/** Hum that was found. */
export interface Hum {
  readonly mains: number;
  /** Its lines, Hz. */
  readonly places: readonly number[];
  /** All of them together, dBFS rms. */
  readonly level: number;
}

/** The sound is looked at with about so many samples a second, in blocks of two periods of 50 Hz. */
const [RATE, BLOCK_SECONDS] = [1500, 0.04];
/** Windows over which the mains keep their phase well enough, and how far the quiet blocks of one must lie apart, seconds. */
const [WINDOW_SECONDS, SPREAD_SECONDS] = [3, 1.5];
/** Blocks below this part of all are pauses; a window has so many of them at least. */
const [QUIET, LEAST_BLOCKS] = [0.2, 6];
/** Pauses stay within so much of each other, dB: what rings out falls further. */
const STEADY_DB = 5;
/** Harmonics that are fitted. */
const HARMONICS = 6;
/** The mains wander by so much, Hz; a note beside them is as far off as the neighbours that must explain clearly less. */
const [WANDERS, NEIGHBOURS] = [
  [-0.1, -0.05, 0, 0.05, 0.1],
  [-2.5, -1.5, 1.5, 2.5],
] as const;
/** The part of a pause's power that the lines explain: so much, and so much more than their neighbours do. */
const [EXPLAINED, CLEARLY] = [0.7, 0.2];
/** Lines weaker than the strongest by more than this (power) are not named. */
const FAINT = 0.02;

/** One channel at about `RATE`: means of successive samples, which is enough of a low-pass for pauses. */
const coarse = ({ channels, sampleRate }: Audio): { readonly samples: Float64Array; readonly rate: number } => {
  const per = Math.max(1, Math.round(sampleRate / RATE));
  const samples = Float64Array.from({ length: Math.floor(channels[0]!.length / per) }, (_, k) => {
    let sum = 0;
    for (const channel of channels) for (let n = k * per; n < (k + 1) * per; n++) sum += channel[n]!;
    return sum / (per * channels.length);
  });
  return { samples, rate: sampleRate / per };
};

interface Fit {
  /** Part of the power around the mean that the lines explain. */
  readonly part: number;
  /** Power of each harmonic. */
  readonly powers: readonly number[];
}

/** Least squares of a constant and the harmonics of `hz` over samples at these places. */
const fitAt = (samples: Float64Array, places: readonly number[], rate: number, hz: number): Fit => {
  const n = 1 + 2 * HARMONICS;
  const A = new Float64Array(n * n);
  const b = new Float64Array(n);
  const row = new Float64Array(n);
  let energy = 0;
  for (const place of places) {
    const value = samples[place]!;
    energy += value * value;
    row[0] = 1;
    for (let k = 0; k < HARMONICS; k++) {
      const angle = (2 * Math.PI * hz * (k + 1) * place) / rate;
      row[2 * k + 1] = Math.cos(angle);
      row[2 * k + 2] = Math.sin(angle);
    }
    for (let i = 0; i < n; i++) {
      b[i]! += row[i]! * value;
      for (let j = 0; j <= i; j++) A[i * n + j]! += row[i]! * row[j]!;
    }
  }
  for (let i = 0; i < n; i++) for (let j = 0; j < i; j++) A[j * n + i] = A[i * n + j]!;
  const x = solveAt(A, b, n, [...row.keys()]);
  const explained = x.reduce((sum, value, i) => sum + value * b[i]!, 0);
  const steady = b[0]! ** 2 / places.length;
  return {
    part: Math.max(0, explained - steady) / Math.max(1e-30, energy - steady),
    powers: Array.from({ length: HARMONICS }, (_, k) => (x[2 * k + 1]! ** 2 + x[2 * k + 2]! ** 2) / 2),
  };
};

/** Blocks of a window that are pauses, by their first sample. */
const pausesOf = (levels: readonly number[], limit: number, from: number, to: number): number[] =>
  Array.from({ length: to - from }, (_, n) => from + n).filter((block) => levels[block]! <= limit);

/**
 * Hum that fills the pauses between sounds, however short they are: the mains go on from pause to pause, so their lines
 * explain what is there. null: there is none, or there are no pauses.
 */
export const humInPauses = (audio: Audio): Hum | null => {
  const { samples, rate } = coarse(audio);
  const length = Math.round(BLOCK_SECONDS * rate);
  const levels = Array.from({ length: Math.floor(samples.length / length) }, (_, block) => {
    const part = samples.subarray(block * length, (block + 1) * length);
    return 10 * Math.log10(part.reduce((sum, value) => sum + value * value, 0) / length + 1e-20);
  });
  const limit = quantile(levels, QUIET);
  if (limit < -90 || limit - quantile(levels, 0.02) > STEADY_DB) return null;
  const per = Math.round(WINDOW_SECONDS / BLOCK_SECONDS);
  const windows: number[][] = [];
  for (let from = 0; from + per <= levels.length; from += per) {
    const pauses = pausesOf(levels, limit, from, from + per);
    const spread = ((pauses.at(-1) ?? 0) - (pauses[0] ?? 0)) * BLOCK_SECONDS;
    if (pauses.length < LEAST_BLOCKS || spread < SPREAD_SECONDS) continue;
    windows.push(pauses.flatMap((block) => Array.from({ length }, (_, n) => block * length + n)));
  }
  if (windows.length < 2) return null;
  const best = (places: readonly number[], hz: number, shifts: readonly number[]): Fit =>
    shifts
      .map((shift) => fitAt(samples, places, rate, hz + shift))
      .reduce((most, each) => (each.part > most.part ? each : most));
  for (const mains of MAINS) {
    const fits = windows.map((places) => best(places, mains, WANDERS));
    const beside = windows.map((places) => best(places, mains, NEIGHBOURS).part);
    const part = median(fits.map((fit) => fit.part));
    if (part < EXPLAINED || part - median(beside) < CLEARLY) continue;
    const powers = Array.from({ length: HARMONICS }, (_, k) => median(fits.map((fit) => fit.powers[k]!)));
    const strongest = Math.max(...powers);
    const places = powers.flatMap((power, k) => (power > FAINT * strongest ? [(k + 1) * mains] : []));
    return { mains, places, level: 10 * Math.log10(powers.reduce((sum, power) => sum + power, 0)) };
  }
  return null;
};
