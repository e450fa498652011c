import { median } from './median.ts';
import type { Seen, Stretch } from './stretches.ts';

// Which of the stretches of a track's level are told as such.

/** Stretches that lie nearer than this to each other are one, dB. */
const ALIKE_DB = 0.5;

/** A ratio in dB, no lower than -60. */
export const decibels = (ratio: number): number => 20 * Math.log10(Math.max(1e-3, ratio));

/**
 * A bus that lets go of a hit, or is at rest before the rest comes in, lifts that track for a moment by no more than the bus moves:
 * shorter than this, seconds, such a stretch is the bus's doing.
 */
export const BUS_SECONDS = 2;
/** So much of what a bus moves by is added to what counts as alike. */
const BUS_PART = 0.08;

/** What a bus does to all over time; where none is at work both are 0. */
export interface Bus {
  /** dB by which it moves. */
  readonly movesDb: number;
  /** Blocks in which it lifts single tracks. */
  readonly blocks: number;
}

/** Levels that differ by less than so many times their errors are one. */
const SURELY = 4;

/**
 * Stretches that hardly differ, tell nothing, or are what the bus made of a hit, joined to the neighbour that is nearer.
 * @param errorOf standard error of a stretch's value, a part of it
 */
export const joined = (
  stretches: readonly Stretch[],
  bus: Bus,
  errorOf: (stretch: Stretch) => number = () => 0,
): Stretch[] => {
  const out = [...stretches];
  const gapOf = (before: Stretch, stretch: Stretch): number => {
    if (stretch.precision < 10 || before.precision < 10) return 0;
    const db = Math.abs(decibels(stretch.value) - decibels(before.value));
    const error = Math.hypot(before.value * errorOf(before), stretch.value * errorOf(stretch));
    if (Math.abs(stretch.value - before.value) < SURELY * error) return db;
    const isShort = Math.min(stretch.to - stretch.from, before.to - before.from) < bus.blocks;
    const alike = ALIKE_DB + BUS_PART * bus.movesDb;
    return db < (isShort ? Math.max(alike, bus.movesDb) : alike) ? db : Infinity;
  };
  for (;;) {
    const gaps = out.slice(1).map((stretch, n) => gapOf(out[n]!, stretch));
    const least = Math.min(...gaps);
    if (!(least < Infinity)) return out;
    const at = gaps.indexOf(least);
    const [a, b] = [out[at]!, out[at + 1]!];
    const precision = a.precision + b.precision;
    const value = precision > 0 ? (a.precision * a.value + b.precision * b.value) / precision : 1;
    out.splice(at, 2, { from: a.from, to: b.to, precision, value });
  }
};

/** A level between those of its neighbours for so few blocks is the change from one to the other within a block. */
const PASSING = 2;

/** Without stretches that are only the change between their neighbours: each goes over where the change lies in it. */
export const withoutPassing = (stretches: readonly Stretch[]): Stretch[] => {
  const out = [...stretches];
  for (let n = 1; n + 1 < out.length; n++) {
    const [before, own, after] = [out[n - 1]!, out[n]!, out[n + 1]!];
    const [low, high] = [Math.min(before.value, after.value), Math.max(before.value, after.value)];
    const isShort =
      own.to - own.from <= PASSING && before.to - before.from > PASSING && after.to - after.from > PASSING;
    if (!isShort || own.value < low || own.value > high || high <= low) continue;
    const part = (own.value - after.value) / (before.value - after.value);
    const border = own.from + Math.round(part * (own.to - own.from));
    out.splice(n - 1, 3, { ...before, to: border }, { ...after, from: border });
    n--;
  }
  return out;
};

/** A block that says less than this part of what the usual one does is a pause of the track. */
const PAUSE = 0.01;

/**
 * Where a level changes in a pause of the track, nothing tells when: it is taken to change when the track comes back.
 * @param seen the blocks, with precisions that end where no level is believed closer: a quiet block in which it is known well is no pause
 */
export const afterPauses = (stretches: readonly Stretch[], seen: readonly Seen[]): Stretch[] => {
  const precisions = seen.map(({ precision }) => precision);
  const least = PAUSE * median(precisions.filter((each) => each > 1));
  const out = [...stretches];
  for (let n = 1; n < out.length; n++) {
    let border = out[n]!.from;
    while (border + 1 < out[n]!.to && precisions[border]! < least) border++;
    out[n - 1] = { ...out[n - 1]!, to: border };
    out[n] = { ...out[n]!, from: border };
  }
  return out;
};
