import type { Random } from '../random.ts';
import { frameAt, secondsAt } from '../tempo.ts';

/** One stroke as played: when, how hard, and which letter of the pattern it came from. */
export interface Stroke {
  readonly frame: number;
  readonly velocity: number;
  readonly letter: string;
  readonly bar: number;
  /** Sixteenth within the bar, 0..15. */
  readonly step: number;
}

/** How a hand plays: scatter of timing and strength, and how far it leans behind the beat. */
export interface Feel {
  readonly scatterMs: number;
  readonly behindMs: number;
  /** Standard deviation of velocity, as a share of it. */
  readonly spread: number;
}

/** Reads pattern strings (16 letters a bar) as played by a hand with this feel. */
export const perform = (
  patterns: readonly string[],
  velocityOf: (letter: string) => number,
  feel: Feel,
  random: Random,
): Stroke[] => {
  const strokes: Stroke[] = [];
  patterns.forEach((pattern, bar) =>
    [...pattern].forEach((letter, step) => {
      if (letter === '.') return;
      const seconds = secondsAt(bar, step / 4) + (feel.behindMs + feel.scatterMs * random.bell()) / 1000;
      const velocity = velocityOf(letter) * (1 + feel.spread * random.bell());
      strokes.push({ frame: Math.max(0, frameAt(seconds)), velocity: Math.min(1.1, velocity), letter, bar, step });
    }),
  );
  return strokes;
};
