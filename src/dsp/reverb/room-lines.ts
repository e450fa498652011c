import type { Absorption } from './absorbing-line.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { AHEAD } from '../filters/interpolation-rows.ts';
import { primeFrom } from './primes.ts';

/** Lines of the network. */
export const LINES = 16;
/** Deepest modulation, seconds to either side. */
export const MAX_DEPTH = 0.001;
/** Shortest and longest way between walls at size 1 where nothing else is said, seconds. */
const SPAN = [0.019, 0.076] as const;
/** The longest that any room may have, seconds. */
export const LONGEST_WAY = 0.11;
/**
 * All lines together, as a multiple of the decay time: so many resonances a hertz for each second of decay. A resonance is
 * 2.2 / decay wide (Schroeder 1962), so nearly nine lie within its width, and the field is as even as noise. With two of them
 * the highest stand out by 2 dB more.
 */
const DENSITY = 4;
/** Decay times beyond which the lines grow no more, and below which they shrink no more, seconds. */
const LONGEST_DECAY = 4.5;
const SHORTEST_DECAY = 1;
/** Lengths follow the decay in steps of a third of an octave, so that a ride of it does not move them all the time. */
const STEPS = 3;
/** The shortest decay that has a step of its own: 0.4 s. */
export const SHORTEST_STEP = -4;

/** The step of a decay in seconds; 0 is a second. */
export const decayStep = (decay: number): number => Math.round(STEPS * Math.log2(decay));

/** Settings of the network. */
export interface Room extends Absorption {
  /** Length of the ways between walls, 0.1..1. */
  readonly size: number;
  /** Most that a modulated way is longer or shorter, seconds. */
  readonly depth: number;
  /** Mean speed of modulation, Hz. */
  readonly rate: number;
  /** Shortest and longest way at size 1, seconds: up to 0.11. */
  readonly span?: readonly [number, number];
  /** Seed of the signs of the taps (`signSeed`); 0 or none: their own. */
  readonly signs?: number;
}

/** Pairs of neighbours that change places (Prouhet's division): the sums of the lengths and of their squares then agree. */
const SWAPPED = [1, 2, 4, 7];
const numbers = Array.from({ length: LINES }, (_, i) => i);
const swapped = <T>(values: readonly T[]): readonly T[] =>
  values.map((_, i) => values[SWAPPED.includes(i >> 1) ? i ^ 1 : i]!);

/** Lengths of the lines as parts of the longest: close together at the short end, so that what has come out soon goes many ways. */
export const LINE_SHARES = swapped(numbers.map((i) => 0.02 + 0.98 * ((i + 0.5) / (LINES - 0.5)) ** 2));
const WHOLE = LINE_SHARES.reduce((sum, share) => sum + share, 0);

/**
 * Lengths of the lines, samples: together as long as the modal density asks for (Schroeder 1962; Jot and Chaigne 1991), each
 * the next prime that is not yet taken, so that no two have a divisor in common, and longer than a block. Pairs of neighbours
 * are swapped so that even and odd lines are alike long in sum.
 */
export const lineLengths = ({ decay }: Pick<Absorption, 'decay'>, sampleRate: number): readonly number[] => {
  const step = 2 ** (decayStep(decay) / STEPS);
  const whole = DENSITY * Math.min(LONGEST_DECAY, Math.max(SHORTEST_DECAY, step)) * sampleRate;
  const taken = new Set<number>();
  return LINE_SHARES.map((share) => {
    let prime = primeFrom(Math.max(CONTROL_FRAMES + 1, (whole * share) / WHOLE));
    while (taken.has(prime)) prime = primeFrom(prime + 1);
    taken.add(prime);
    return prime;
  });
};

/** No line is longer at any setting, samples. */
export const longestLines = (sampleRate: number): readonly number[] => lineLengths({ decay: Infinity }, sampleRate);

/** Delays before the lines, samples: ways between walls in even steps of a ratio, long enough to be modulated. So the size is heard in what comes first. */
export const wayLengths = (
  { size, span: [shortest, longest] = SPAN }: Pick<Room, 'size' | 'span'>,
  sampleRate: number,
): readonly number[] => {
  const floor = AHEAD + 1 + Math.ceil(MAX_DEPTH * sampleRate);
  const lengthOf = (i: number): number => size * shortest * (longest / shortest) ** (i / (LINES - 1));
  return swapped(numbers.map((i) => Math.max(floor, Math.round(lengthOf(i) * sampleRate))));
};

/** Energy with which a sound enters each line, before scaling: see `inputGains`. */
const inputEnergies = (lengths: readonly number[]): readonly number[] => {
  const sorted = [...lengths].sort((a, b) => a - b);
  return lengths.map((length) => {
    const at = sorted.indexOf(length);
    const before = at === 0 ? -length : sorted[at - 1]!;
    const after = at === LINES - 1 ? 2 * length - before : sorted[at + 1]!;
    return ((1 - (at + 0.5) / LINES) * (after - before)) / 2;
  });
};

/**
 * Gains at the inputs of the lines, 1 in the mean of their squares. They start the field as it will go on: in one that has
 * settled, what leaves the lines between t and t + dt without having passed one since t = 0 is (1 - F(t)) dt of the flow, F the
 * share of lines shorter than t (renewal theory: the forward recurrence time; Feller 1971). So the decay is straight from the
 * first echo on, although the lines are long.
 */
export const inputGains = (lengths: readonly number[]): readonly number[] => {
  const energies = inputEnergies(lengths);
  const scale = LINES / energies.reduce((sum, energy) => sum + energy, 0);
  return energies.map((energy) => Math.sqrt(scale * energy));
};
