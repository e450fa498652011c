import { decayStep, SHORTEST_STEP } from './room-lines.ts';

/**
 * Seeds of the signs for each step of the decay from `SHORTEST_STEP` on (0.4 s, a third of an octave each, to 6.3 s); shorter and
 * longer decays take the first and the last. Searched with the measure of tests/helpers/room-figures.ts at 48 kHz: of up to 350
 * seeds for a step, that whose 56 responses (all characters, sizes 10, 20, 30, 35, 50, 75, 100, both sides) come nearest to a
 * highest peak of 11.5 dB, a repetition of 0.03 and a spread of 5.9 dB in the worst of them. null: the taps' own signs, where
 * none was found that is better and also keeps decay time, echo density and colour (third octaves within 1.5 dB, all rooms together).
 */
// oxfmt-ignore
export const SIGN_SEEDS: readonly (number | null)[] = [null, 75, 56, null, null, null, null, null, null, null, 17, null, null];

/** Even numbers 0..1 from a linear congruence (Knuth, The Art of Computer Programming 2, 3.3.4), the same on each machine. */
export const numbersFrom = (seed: number): (() => number) => {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
};

/** Signs of `count` taps for each step, -1 or 1 each; null: their own. */
export const signsByStep = (count: number): readonly (Float64Array | null)[] =>
  SIGN_SEEDS.map((seed) => {
    if (seed === null) return null;
    const random = numbersFrom(seed);
    return Float64Array.from({ length: count }, () => (random() < 0.5 ? -1 : 1));
  });

/** Place of a decay, seconds, among the steps. */
export const signStep = (decay: number): number =>
  Math.min(SIGN_SEEDS.length - 1, Math.max(0, decayStep(decay) - SHORTEST_STEP));
