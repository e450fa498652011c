import type { Random } from '../random.ts';
import { randomFrom } from '../random.ts';
import { cymbalBars, handBars, hatBars, kickBars, snareBars, tomBars, velocityOf } from '../score/drum-patterns.ts';
import type { Stroke } from '../score/perform.ts';
import { perform } from '../score/perform.ts';
import type { Signal } from '../signal.ts';
import { silence } from '../signal.ts';
import { frameAt } from '../tempo.ts';
import { strikeCrash, strikeHat } from './cymbals.ts';
import { shake, strikeTambourine } from './hand-percussion.ts';
import { strikeKick } from './kick.ts';
import { strikeRim, strikeSnare } from './snare.ts';
import { strikeTom } from './toms.ts';

/** The drums as they sound at the drum itself, before any microphone. */
export interface Kit {
  readonly kick: Signal;
  readonly snare: Signal;
  readonly hats: Signal;
  readonly toms: Signal;
  readonly cymbals: Signal;
}

const play = (strokes: readonly Stroke[], strike: (out: Signal, stroke: Stroke) => void): Signal => {
  const out = silence();
  for (const stroke of strokes) strike(out, stroke);
  return out;
};

const openness: Readonly<Record<string, number>> = { c: 0, h: 0.42, o: 0.9 };

/** Hats are played stroke by stroke into their own take, so that a new stroke can choke the ring of the last. */
const playHats = (strokes: readonly Stroke[], random: Random): Signal => {
  const out = silence();
  const choke = frameAt(0.012);
  for (const { frame, velocity, letter, step } of strokes) {
    for (let n = frame; n < out.length && n < frame + frameAt(1.2); n++) {
      out[n] = out[n]! * Math.max(0, 1 - (n - frame) / choke);
    }
    const accent = step % 4 === 2 ? 1 : 0.88;
    strikeHat(out, frame, velocity * accent, openness[letter.toLowerCase()] ?? 0, random);
  }
  return out;
};

const tomHz: Readonly<Record<string, number>> = { f: 82, m: 117, t: 156 };

/** The swell grows stroke by stroke; crashes are struck. */
const strikeCymbal = (out: Signal, { frame, velocity, letter, step }: Stroke, random: Random): void => {
  const soft = letter === 's';
  strikeCrash(out, frame, soft ? 0.05 + 0.028 * Math.max(0, step - 5) : velocity, soft, random);
};

/** Plays the whole kit. */
export const playKit = (): Kit => {
  const hand = (name: string, scatterMs: number, behindMs: number, patterns: readonly string[]): [Stroke[], Random] => {
    const random = randomFrom(name);
    return [perform(patterns, velocityOf, { scatterMs, behindMs, spread: 0.07 }, random), random];
  };
  const [kicks, kickHand] = hand('kick', 2.5, 0, kickBars);
  const [snares, snareHand] = hand('snare', 3, 5, snareBars);
  const [hats, hatHand] = hand('hats', 3.5, 1, hatBars);
  const [toms, tomHand] = hand('toms', 3.5, 3, tomBars);
  const [cymbals, cymbalHand] = hand('cymbals', 3, 0, cymbalBars);
  return {
    kick: play(kicks, (out, { frame, velocity }) => strikeKick(out, frame, velocity, kickHand)),
    snare: play(snares, (out, { frame, velocity, letter }) =>
      (letter === 'r' ? strikeRim : strikeSnare)(out, frame, velocity, snareHand),
    ),
    hats: playHats(hats, hatHand),
    toms: play(toms, (out, { frame, velocity, letter }) =>
      strikeTom(out, frame, velocity, tomHz[letter.toLowerCase()] ?? 100, tomHand),
    ),
    cymbals: play(cymbals, (out, stroke) => strikeCymbal(out, stroke, cymbalHand)),
  };
};

/** Plays shaker and tambourine. */
export const playHandPercussion = (): Signal => {
  const random = randomFrom('hand percussion');
  const strokes = perform(handBars, velocityOf, { scatterMs: 5, behindMs: 2, spread: 0.1 }, random);
  return play(strokes, (out, { frame, velocity, letter }) =>
    (letter.toLowerCase() === 't' ? strikeTambourine : shake)(out, frame, velocity, random),
  );
};
