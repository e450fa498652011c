import type { Trial } from '../../session/schema.ts';
import { binomialTail, leastHits, rateInterval, smallestDetectable } from './binomial.ts';

/** Significance level: a result with a probability below this by guessing counts as a difference. */
const ALPHA = 0.05;
/** Power that the note on power is computed for: common practice. */
const POWER = 0.8;

type Side = 'a' | 'b';

/** One presentation of a blind trial: which side each button plays. */
export interface Presentation {
  /** The side that the first button plays; the second plays the other. */
  readonly first: Side;
  /** ABX: the side that X is. null in a preference trial. */
  readonly x: Side | null;
}

/** Random numbers below 2^32, the same for the same seed (splitmix32 after Steele et al. 2014; constants from memory). */
const randomFrom = (seed: number): (() => number) => {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x9e3779b9) >>> 0;
    let z = Math.imul(state ^ (state >>> 16), 0x21f0aaad);
    z = Math.imul(z ^ (z >>> 15), 0x735a2d97);
    return (z ^ (z >>> 15)) >>> 0;
  };
};

const shuffled = <T>(items: readonly T[], random: () => number): T[] => {
  const out = [...items];
  for (let n = out.length - 1; n > 0; n--) {
    const other = Math.floor((random() / 2 ** 32) * (n + 1));
    [out[n], out[other]] = [out[other]!, out[n]!];
  }
  return out;
};

/**
 * All presentations of a trial, from its seed alone. The order of the two sides is counterbalanced: each is first as
 * often as the other (in an odd number one more often, by the seed), in shuffled order. X is drawn independently
 * each time: if it were balanced too, a listener who counts could guess the last ones, and the binomial test would not be exact.
 */
export const presentationsOf = ({ kind, planned, seed }: Pick<Trial, 'kind' | 'planned' | 'seed'>): Presentation[] => {
  const random = randomFrom(seed);
  const coin = (): Side => (random() >>> 31 === 0 ? 'a' : 'b');
  const odd = coin();
  const other: Side = odd === 'a' ? 'b' : 'a';
  const firsts = Array.from({ length: planned }, (_, n): Side => (n % 2 === 0 ? odd : other));
  return shuffled(firsts, random).map((first) => ({ first, x: kind === 'abx' ? coin() : null }));
};

/** Result of the answers. Nothing is tested before the fixed number of trials is done: stopping early on a good result would make false differences more likely. */
export interface TrialResult {
  readonly answered: number;
  readonly planned: number;
  readonly finished: boolean;
  /** ABX: right answers; preference: those for the side preferred more often. null until finished. */
  readonly hits: number | null;
  /** Side preferred more often; null in ABX, before the end and when both were as often. */
  readonly preferred: Side | null;
  /** Exact binomial probability of so many hits or more by guessing; two-sided for preference. */
  readonly p: number | null;
  /** 95 % interval of the true rate (two-sided, exact). */
  readonly interval: readonly [number, number] | null;
  /** Least hits that count as a difference, and the least true rate that is found with 80 % probability. */
  readonly neededHits: number | null;
  readonly smallestDetectable: number | null;
  /** The result in words, and the difference that this number of trials can show. */
  readonly sentence: string;
  readonly powerNote: string;
}

const percent = (part: number): string => `${Math.round(100 * part)} %`;

const pText = (p: number): string => (p < 0.0001 ? 'below 0.0001' : p.toFixed(4));

const powerNoteOf = (planned: number, needed: number | null, least: number | null, abx: boolean): string => {
  const what = abx ? 'right answers' : 'choices of one side';
  if (needed === null || least === null) {
    return `${planned} trials are too few to show anything at the 5 % level, even if all agree.`;
  }
  const listener = abx ? 'is right' : 'prefers one side';
  return `Of ${planned} trials, ${needed} ${what} show a difference (5 % level). A listener who ${listener} ${percent(least)} of the time reaches that in 4 of 5 runs; one closer to chance, less often.`;
};

const sentenceOf = (abx: boolean, hits: number, planned: number, p: number, preferred: string | null): string => {
  const found = p < ALPHA;
  if (abx) {
    const said = `${hits} of ${planned} right, p = ${pText(p)}`;
    return found
      ? `${said}: the two were told apart.`
      : `${said}: no difference shown, which does not prove that there is none.`;
  }
  if (preferred === null) return `Both sides were chosen equally often in ${planned} trials: no preference shown.`;
  const said = `${preferred} was chosen ${hits} of ${planned} times, p = ${pText(p)} (two-sided)`;
  return found ? `${said}: a preference is shown.` : `${said}: no preference shown.`;
};

const LETTERS: Readonly<Record<Side, string>> = { a: 'Side A', b: 'Side B' };

/**
 * The result of a trial, or how far it is. ABX is tested one-sided against 1/2, preference two-sided. `names`: what the
 * sentence calls the two sides.
 */
export const trialResult = (
  { kind, planned, answers }: Pick<Trial, 'kind' | 'planned' | 'answers'>,
  names: Readonly<Record<Side, string>> = LETTERS,
): TrialResult => {
  const abx = kind === 'abx';
  const neededHits = leastHits(planned, abx ? ALPHA : ALPHA / 2);
  const least = smallestDetectable(planned, abx ? ALPHA : ALPHA / 2, POWER);
  const answered = Math.min(answers.length, planned);
  const common = {
    answered,
    planned,
    finished: answered === planned,
    neededHits,
    smallestDetectable: least,
    powerNote: powerNoteOf(planned, neededHits, least, abx),
  };
  if (answered < planned) {
    const sentence = `${answered} of ${planned} trials done; the result is shown when all are done.`;
    return { ...common, hits: null, preferred: null, p: null, interval: null, sentence };
  }
  const counted = (answer: Trial['answers'][number]): number =>
    answers.slice(0, planned).filter((each) => each === answer).length;
  const forA = counted('a');
  const preferred = abx || 2 * forA === planned ? null : 2 * forA > planned ? 'a' : 'b';
  const hits = abx ? counted('right') : Math.max(forA, planned - forA);
  const tail = binomialTail(hits, planned);
  const p = abx ? tail : Math.min(1, 2 * tail);
  const sentence = sentenceOf(abx, hits, planned, p, preferred && names[preferred]);
  return { ...common, hits, preferred, p, interval: rateInterval(hits, planned), sentence };
};
