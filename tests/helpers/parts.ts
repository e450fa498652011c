import { seeded } from './signals.ts';

const RATE = 48_000;

/** A snare, two hits a second: noise through a one-pole low pass, and two partials. */
export const snareHits = (seconds: number, seed: number): Float32Array => {
  const random = seeded(seed);
  let low = 0;
  return Float32Array.from({ length: seconds * RATE }, (_, n) => {
    const t = (n % (RATE / 2)) / RATE;
    low += 0.5 * (2 * random() - 1 - low);
    const partials =
      0.4 * Math.exp(-30 * t) * Math.sin(2 * Math.PI * 190 * t) +
      0.2 * Math.exp(-35 * t) * Math.sin(2 * Math.PI * 330 * t);
    return 0.5 * Math.exp(-22 * t) * low + partials;
  });
};

const CHORDS = [
  [220, 277.2, 329.6],
  [196, 246.9, 293.7],
] as const;
const PARTIALS = [1, 2, 3, 4, 5, 6, 7, 8];

/** Two held chords in turn, two seconds each, of eight partials with vibrato, without a beat in them. */
export const heldChords = (seconds: number): Float32Array =>
  Float32Array.from({ length: seconds * RATE }, (_, n) => {
    const t = n / RATE;
    const within = t % 2;
    const swell = Math.min(1, 4 * within, 4 * (2 - within));
    const vibrato = 0.15 * Math.sin(2 * Math.PI * 5 * t);
    const partial = (hz: number, h: number): number => Math.sin(h * (2 * Math.PI * hz * t + vibrato)) / h ** 2;
    const notes = CHORDS[Math.floor(t / 2) % 2]!.flatMap((hz) => PARTIALS.map((h) => partial(hz, h)));
    return 0.05 * swell * notes.reduce((sum, each) => sum + each, 0);
  });
