import { decayStep, SHORTEST_STEP } from './room-lines.ts';
import { SIGN_SEEDS } from './sign-seeds.ts';

/** Sizes up to which each row of seeds holds, 0..1; the last row holds for all that are larger. */
const BANDS = [0.175, 0.275, 0.375, 0.475, 0.575, 0.675, 0.775, 0.875];
/** Steps of the decay that have a seed: 0.4 to 6.3 s. */
const STEPS = SIGN_SEEDS.plate[0]!.length;

/** Even numbers 0..1 from a linear congruence (Knuth, The Art of Computer Programming 2, 3.3.4), the same on each machine. */
export const numbersFrom = (seed: number): (() => number) => {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
};

/** Signs of `count` taps, -1 or 1 each, for each seed that is in use. */
export const signsBySeed = (count: number): ReadonlyMap<number, Float64Array> =>
  new Map(
    [...new Set(Object.values(SIGN_SEEDS).flat(2))].map((seed) => {
      const random = numbersFrom(seed);
      return [seed, Float64Array.from({ length: count }, () => (random() < 0.5 ? -1 : 1))];
    }),
  );

/** Seed of the signs for a character, a size 0.1..1 and a decay, seconds; 0: the taps' own signs. Shorter and longer decays have the first and the last. */
export const signSeed = (character: keyof typeof SIGN_SEEDS, size: number, decay: number): number => {
  const band = BANDS.findIndex((most) => size <= most);
  const step = Math.min(STEPS - 1, Math.max(0, decayStep(decay) - SHORTEST_STEP));
  return SIGN_SEEDS[character].at(band)![step]!;
};
