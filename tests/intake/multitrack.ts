import type { Audio } from '../../src/audio/audio.ts';

/**
 * A made-up multitrack of its own, apart from the demo song's generator: simple synthesis, a seeded chance, and parts that
 * overlap in time and frequency as those of a band do.
 */
export interface MadeTrack {
  readonly name: string;
  readonly audio: Audio;
}

export const RATE = 48_000;

/** Numbers from 0 to 1 by a seed (mulberry32, public domain). */
export const chance = (seed: number): (() => number) => {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
};

const BEAT = 0.5;

/** Adds a burst: noise and a falling tone, each with its decay. */
const hit = (out: Float32Array, at: number, next: () => number, tone: number, noise: number, decay: number): void => {
  const start = Math.round(at * RATE);
  const level = 0.5 + 0.5 * next();
  let held = 0;
  for (let n = 0; n < 5 * decay * RATE && start + n < out.length; n++) {
    const t = n / RATE;
    const envelope = Math.exp(-t / decay) * level * Math.min(1, n / 24);
    held += 0.6 * (2 * next() - 1 - held);
    const body = tone > 0 ? Math.sin(2 * Math.PI * tone * t * (1 + 0.6 * Math.exp(-t / 0.02))) : 0;
    out[start + n]! += envelope * ((1 - noise) * body + noise * (2 * next() - 1 - 0.5 * held));
  }
};

/** Adds a note of harmonics that fall off, with some vibrato and noise of breath or bow. */
const note = (
  out: Float32Array,
  at: number,
  long: number,
  hz: number,
  next: () => number,
  fall: number,
  air: number,
): void => {
  const start = Math.round(at * RATE);
  const frames = Math.min(Math.round(long * RATE), out.length - start);
  const level = 0.6 + 0.4 * next();
  const wobble = 4 + 2 * next();
  const count = Math.min(24, Math.floor(15_000 / hz));
  const [inPhase, across] = [new Float64Array(count), new Float64Array(count)];
  for (let k = 0; k < count; k++) {
    const gain = (0.5 + next()) / (k + 1) ** fall;
    const phase = 2 * Math.PI * next();
    inPhase[k] = gain * Math.cos(phase);
    across[k] = gain * Math.sin(phase);
  }
  let phase = 0;
  for (let n = 0; n < frames; n++) {
    const t = n / RATE;
    phase += (2 * Math.PI * hz * (1 + 0.004 * Math.sin(2 * Math.PI * wobble * t))) / RATE;
    const envelope = level * Math.min(1, n / 480) * Math.min(1, (frames - n) / 2400) * Math.exp(-t / 3);
    let sum = air * (2 * next() - 1);
    // Sine and cosine of each multiple of the phase, by the sum formulas from the one before: much quicker than asking for all.
    const [sine, cosine] = [Math.sin(phase), Math.cos(phase)];
    let [s, c] = [sine, cosine];
    for (let k = 0; k < count; k++) {
      sum += inPhase[k]! * s + across[k]! * c;
      [s, c] = [s * cosine + c * sine, c * cosine - s * sine];
    }
    out[start + n]! += 0.3 * envelope * sum;
  }
};

const silence = (seconds: number): Float32Array => new Float32Array(Math.round(seconds * RATE));

type Player = (seconds: number, seed: number) => Float32Array;

const drum =
  (every: number, shift: number, tone: number, noise: number, decay: number): Player =>
  (seconds, seed) => {
    const next = chance(seed);
    const out = silence(seconds);
    for (let t = shift * BEAT; t < seconds - 0.1; t += every * BEAT)
      if (next() < 0.9) hit(out, t + 0.004 * next(), next, tone, noise, decay);
    return out;
  };

const SCALE = [0, 2, 3, 5, 7, 8, 10, 12];

const line =
  (low: number, long: number, fall: number, air: number, rest: number): Player =>
  (seconds, seed) => {
    const next = chance(seed);
    const out = silence(seconds);
    for (let t = 0.02; t < seconds - 0.2; t += long * BEAT) {
      if (next() < rest) continue;
      note(
        out,
        t,
        long * BEAT * (0.8 + 0.2 * next()),
        low * 2 ** (SCALE[Math.floor(8 * next())]! / 12),
        next,
        fall,
        air,
      );
    }
    return out;
  };

const PLAYERS: Readonly<Record<string, Player>> = {
  Kick: drum(2, 0, 55, 0.15, 0.12),
  Snare: drum(2, 1, 190, 0.7, 0.09),
  'Hi-hat': drum(0.5, 0, 0, 1, 0.03),
  Tom: drum(7, 3, 110, 0.2, 0.2),
  Shaker: drum(0.25, 0, 0, 1, 0.05),
  Bass: line(41, 1, 1.1, 0.01, 0.1),
  'Gtr Riff': line(165, 0.5, 0.9, 0.02, 0.25),
  'Gtr Chords': line(110, 2, 0.8, 0.02, 0.1),
  Piano: line(220, 0.5, 1.4, 0.005, 0.2),
  Organ: line(130, 4, 1, 0.01, 0.05),
  Strings: line(196, 4, 0.9, 0.05, 0.15),
  'Lead Vox': line(247, 1, 1, 0.08, 0.3),
  'BV 1': line(330, 2, 1.2, 0.06, 0.5),
  'BV 2': line(392, 2, 1.1, 0.06, 0.5),
  Synth: line(523, 1, 0.7, 0.01, 0.3),
  Brass: line(233, 1.5, 0.8, 0.04, 0.5),
};

export const NAMES = Object.keys(PLAYERS);

/** Track `n` of a multitrack, one channel, `seconds` long; after the first sixteen the same players play other parts. */
export const madeTrack = (n: number, seconds: number, seed: number): MadeTrack => {
  const player = NAMES[n % NAMES.length]!;
  const turn = Math.floor(n / NAMES.length);
  const channel = PLAYERS[player]!(seconds, seed * 1000 + n);
  return { name: turn === 0 ? player : `${player} ${turn + 1}`, audio: { sampleRate: RATE, channels: [channel] } };
};

/** Its first so many tracks. */
export const multitrack = (count: number, seconds: number, seed: number): MadeTrack[] =>
  Array.from({ length: count }, (_, n) => madeTrack(n, seconds, seed));
