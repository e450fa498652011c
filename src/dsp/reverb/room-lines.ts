import { type Absorption, absorptionFilter, lowsFilter } from './absorbing-line.ts';
import { firstOrderPower } from '../filters/first-order.ts';
import { AHEAD } from '../filters/interpolation-rows.ts';
import { primeFrom } from './primes.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';

/** Lines of each of both groups. */
export const LINES = 16;
/** Deepest modulation, seconds to either side. */
export const MAX_DEPTH = 0.001;
/** Shortest and longest near line at size 1 where nothing else is said, seconds. */
const SPAN = [0.019, 0.076] as const;
/** Longest of both that any room may have. */
const LONGEST_SPAN = [0.03, 0.11] as const;
/** Shorter than any room has. */
const SHORTEST_SPAN = [0.0005, 0.001] as const;
/**
 * All lines together, as a part of the decay time: so many resonances a hertz for each second of decay. A resonance is
 * 2.2 / decay wide (Schroeder 1962), so nearly two lie within its width. With a third of it single ones stand out.
 */
const DENSITY = 0.8;
/** Decay times beyond which the lines grow no more, and below which they shrink no more, seconds. */
const LONGEST_DECAY = 6;
const SHORTEST_DECAY = 1;
/** Lengths follow the decay in steps of a third of an octave, so that a ride of it does not move them all the time. */
const STEPS = 3;
/** The far lines are in the mean at least so much longer than the near ones. */
const LEAST_FAR = 1.2;
/** Octave bands over which pink noise is equally strong, Hz. */
const OCTAVES = [31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000];

/** Settings of the network. */
export interface Room extends Absorption {
  /** Length of the near lines, 0.1..1. */
  readonly size: number;
  /** Most that a modulated line is longer or shorter, seconds. */
  readonly depth: number;
  /** Mean speed of modulation, Hz. */
  readonly rate: number;
  /** Shortest and longest near line at size 1, seconds: up to 0.03 and 0.11. */
  readonly span?: readonly [number, number];
}

type LineSettings = Pick<Room, 'size' | 'decay' | 'span'>;

/** One value for each line of the near and of the far group. */
export type PerLine = readonly [near: readonly number[], far: readonly number[]];

/** Pairs of neighbours that change places (Prouhet's division): the sums of the lengths and of their squares then agree. */
const SWAPPED = [1, 2, 4, 7];
const numbers = Array.from({ length: LINES }, (_, i) => i);
const meanOf = (values: readonly number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;

/** Shares of the way from the shortest to the longest far line: close together at the short end, where echoes must be dense. */
const FAR_SHARES = numbers.map((i) => ((i + 0.5) / LINES) ** 2);

/** Seconds that the lines of both groups should have. */
const wantedLengths = ({ size, decay, span: [shortest, longest] = SPAN }: LineSettings): PerLine => {
  const near = numbers.map((i) => size * shortest * (longest / shortest) ** (i / (LINES - 1)));
  const held = Math.min(LONGEST_DECAY, Math.max(SHORTEST_DECAY, 2 ** (Math.round(STEPS * Math.log2(decay)) / STEPS)));
  const farMean = Math.max((DENSITY * held) / LINES - meanOf(near), LEAST_FAR * meanOf(near));
  const width = (farMean - near[0]!) / meanOf(FAR_SHARES);
  return [near, FAR_SHARES.map((share) => near[0]! + width * share)];
};

/**
 * Lengths of the lines, samples, each the next prime that is not yet taken, so that no two have a divisor in common, and long
 * enough for a whole block and for the modulation. The near lines lie in even steps of a ratio between the ends of the span.
 * The far ones begin where they do and make up the modal density that the decay needs (Schroeder 1962; Jot and Chaigne 1991):
 * so the size is heard in the first echoes, and small rooms do not ring. Pairs are swapped so that even and odd lines are
 * alike long in sum.
 */
export const lineLengths = (settings: LineSettings, sampleRate: number): PerLine => {
  const floor = CONTROL_FRAMES + AHEAD + 1 + Math.ceil(MAX_DEPTH * sampleRate);
  const taken = new Set<number>();
  const primeOf = (wanted: number): number => {
    let prime = primeFrom(Math.max(floor, wanted));
    while (taken.has(prime)) prime = primeFrom(prime + 1);
    taken.add(prime);
    return prime;
  };
  const swapped = (seconds: readonly number[]): readonly number[] => {
    const lengths = seconds.map((length) => primeOf(length * sampleRate));
    return lengths.map((_, i) => lengths[SWAPPED.includes(i >> 1) ? i ^ 1 : i]!);
  };
  const [near, far] = wantedLengths(settings);
  return [swapped(near), swapped(far)];
};

/**
 * No line is longer at any setting, samples. Far lines begin where near ones do, at most at the shortest of the largest room,
 * and reach on from there at most as far as in a room that is smaller than any.
 */
export const longestLines = (sampleRate: number): PerLine => {
  const longest = (span: readonly [number, number]): PerLine =>
    lineLengths({ size: 1, decay: LONGEST_DECAY, span }, sampleRate);
  const [near] = longest(LONGEST_SPAN);
  const [, far] = longest(SHORTEST_SPAN);
  return [near, far.map((length) => length + Math.min(...near))];
};

/** Energy with which a sound enters each line of one group, before scaling: see `inputGains`. */
const inputEnergies = (lengths: readonly number[]): readonly number[] => {
  const sorted = [...lengths].sort((a, b) => a - b);
  return lengths.map((length) => {
    const at = sorted.indexOf(length);
    const before = at === 0 ? 2 * length - sorted[1]! : sorted[at - 1]!;
    const after = at === LINES - 1 ? 2 * length - before : sorted[at + 1]!;
    return ((1 - (at + 0.5) / LINES) * (after - before)) / 2;
  });
};

/**
 * Gains at the inputs of the lines, 1 in the mean of their squares. They start the field as it will go on: in one that has settled, what leaves a
 * group between t and t + dt without having passed it since t = 0 is (1 - F(t)) dt of its flow, F the share of lines shorter than t (renewal
 * theory: the forward recurrence time; Feller 1971). So the decay is straight from the first echo on, although the lines are long.
 */
export const inputGains = (lengths: PerLine): PerLine => {
  const energies = lengths.map(inputEnergies) as unknown as PerLine;
  const scale = 1 / meanOf(energies.flat());
  const gains = (row: readonly number[]): readonly number[] => row.map((energy) => Math.sqrt(scale * energy));
  return [gains(energies[0]), gains(energies[1])];
};

/**
 * Power gain of the network from either input to either output for pink noise in both, from the loss of the lines alone,
 * averaged over octaves. With p and q the mean power gains of near and far lines, a and b what first passes come out with,
 * the flows n = a + p f and f = b + q n come out of the groups, half of each on either side, at the network's output gain.
 */
export const networkPower = (room: Room, sampleRate: number): number => {
  const lengths = lineLengths(room, sampleRate);
  const inputs = inputGains(lengths);
  const filters = lengths.map((row) =>
    row.map((length) => [absorptionFilter(length, room, sampleRate), lowsFilter(length, room, sampleRate)] as const),
  );
  const powerAt = (hz: number): number => {
    const passes = filters.map((row) =>
      row.map(([loss, lows]) => firstOrderPower(loss, hz, sampleRate) * firstOrderPower(lows, hz, sampleRate)),
    );
    const [p, q] = passes.map(meanOf) as [number, number];
    const [a, b] = passes.map((row, group) =>
      row.reduce((sum, power, i) => sum + power * inputs[group]![i]! ** 2, 0),
    ) as [number, number];
    const near = (a + p * b) / (1 - p * q);
    return (near + b + q * near) / (2 * LINES);
  };
  return meanOf(OCTAVES.filter((hz) => hz < sampleRate / 2).map(powerAt));
};
