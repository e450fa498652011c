import type { Random } from '../random.ts';
import { randomFrom } from '../random.ts';
import type { Signal } from '../signal.ts';
import { frameAt } from '../tempo.ts';
import { burst, metal, ringModes } from './modes.ts';

const jingles = metal(randomFrom('jingles'), { count: 26, lowHz: 4200, highHz: 13500, seconds: 0.4, tilt: 0 });

/** One stroke of the shaker: the seeds gather, then hit the wall. */
export const shake = (out: Signal, start: number, velocity: number, random: Random): void => {
  const early = Math.max(0, start - frameAt(0.022));
  burst(out, early, { gain: 0.4 * velocity, attack: 0.018, decay: 0.14, lowHz: 4200, highHz: 9500 }, random);
  burst(out, start, { gain: 0.75 * velocity, attack: 0.005, decay: 0.14, lowHz: 4800, highHz: 10500 }, random);
};

/** One hit of the tambourine: a cluster of jingles that do not land together. */
export const strikeTambourine = (out: Signal, start: number, velocity: number, random: Random): void => {
  for (let jingle = 0; jingle < 4; jingle++) {
    const late = start + frameAt(0.009 * jingle * random.next());
    ringModes(out, late, jingles, 0.05 * velocity * (0.6 + 0.4 * random.next()), 0.55 + 0.3 * random.next());
  }
  burst(out, start, { gain: 0.22 * velocity, attack: 0.002, decay: 0.22, lowHz: 3000, highHz: 9000 }, random);
};
