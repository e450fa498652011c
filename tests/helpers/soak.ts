import { inject } from 'vitest';
import { seeded } from './signals.ts';

declare module 'vitest' {
  interface ProvidedContext {
    /** Number of the round of `npm run soak`, from 1 up; 0 in `npm test`. */
    soakRound: number;
  }
}

const round = inject('soakRound');

/** `npm test` tries few cases, always the same; `npm run soak` many. */
export const casesOf = (few: number, many: number): number => (round === 0 ? few : many);

/** The seed itself in `npm test`, another one in every round of soaking. */
export const seedOf = (seed: number): number => seed + 1000 * round;

/** Whether every case is wanted, and not those only that stand for the others. */
export const isSoaking = round > 0;

/** `few` of them, always the same; when soaking all of them. */
export const sampleOf = <T>(all: readonly T[], few: number): readonly T[] => {
  if (isSoaking) return all;
  const random = seeded(all.length);
  const drawn = all.map((each) => ({ each, at: random() })).sort((a, b) => a.at - b.at);
  return drawn.slice(0, few).map(({ each }) => each);
};
