import fc from 'fast-check';
import { expect, test } from 'vitest';
import { presentationsOf, trialResult } from '../../src/blend/trial/blind-trial.ts';
import type { Trial } from '../../src/session/schema.ts';

const seeds = fc.integer({ min: 0, max: 0xffffffff });
const lengths = fc.integer({ min: 1, max: 200 });

test('each side comes first as often as the other, whatever the seed, and the same seed gives the same order', () => {
  fc.assert(
    fc.property(seeds, lengths, fc.constantFrom('abx' as const, 'preference' as const), (seed, planned, kind) => {
      const order = presentationsOf({ kind, planned, seed });
      const firstA = order.filter(({ first }) => first === 'a').length;
      expect(order).toHaveLength(planned);
      expect(Math.abs(2 * firstA - planned)).toBe(planned % 2);
      expect(order.every(({ x }) => (x === null) === (kind === 'preference'))).toBe(true);
      expect(presentationsOf({ kind, planned, seed })).toEqual(order);
    }),
  );
});

test('X is a fair coin that knows nothing of the order or of the last one, over many seeds', () => {
  let [same, repeated, count, pairs] = [0, 0, 0, 0];
  for (let seed = 0; seed < 2000; seed++) {
    const order = presentationsOf({ kind: 'abx', planned: 16, seed });
    order.forEach(({ first, x }, n) => {
      count++;
      if (x === first) same++;
      if (n === 0) return;
      pairs++;
      if (x === order[n - 1]!.x) repeated++;
    });
  }
  // Six standard deviations of a fair coin.
  expect(Math.abs(same / count - 0.5)).toBeLessThan(3 / Math.sqrt(count));
  expect(Math.abs(repeated / pairs - 0.5)).toBeLessThan(3 / Math.sqrt(pairs));
});

const answers = (right: number, wrong: number, yes: 'right' | 'a' = 'right'): Trial['answers'] => [
  ...Array<Trial['answers'][number]>(right).fill(yes),
  ...Array<Trial['answers'][number]>(wrong).fill(yes === 'a' ? 'b' : 'wrong'),
];

test('nothing is told before the fixed number of trials is done', () => {
  const result = trialResult({ kind: 'abx', planned: 16, answers: answers(15, 0) });
  expect(result).toMatchObject({ answered: 15, finished: false, hits: null, p: null, interval: null });
  expect(result.sentence).toContain('15 of 16');
});

test('ABX: 12 of 16 is a result, 8 of 10 is not, and a result that is none says what it does not show', () => {
  expect(trialResult({ kind: 'abx', planned: 16, answers: answers(12, 4) }).sentence).toBe(
    '12 of 16 right, p = 0.0384: the two were told apart.',
  );
  const short = trialResult({ kind: 'abx', planned: 10, answers: answers(8, 2) });
  expect(short.p).toBeCloseTo(0.0547, 4);
  expect(short.sentence).toContain('does not prove that there is none');
  expect(short.powerNote).toContain('9 right answers show a difference');
});

test('preference is tested on both sides: what speaks for A by 13 of 16 speaks as much for B', () => {
  const forA = trialResult({ kind: 'preference', planned: 16, answers: answers(13, 3, 'a') });
  const forB = trialResult({ kind: 'preference', planned: 16, answers: answers(3, 13, 'a') });
  expect(forA.p).toBeCloseTo(2 * 0.010635, 5);
  expect([forA.preferred, forB.preferred, forB.p]).toEqual(['a', 'b', forA.p]);
  const even = trialResult({ kind: 'preference', planned: 16, answers: answers(8, 8, 'a') });
  expect([even.preferred, even.p]).toEqual([null, 1]);
});

test('four trials can show nothing, and the note says so', () => {
  const result = trialResult({ kind: 'abx', planned: 4, answers: answers(4, 0) });
  expect([result.neededHits, result.smallestDetectable]).toEqual([null, null]);
  expect(result.powerNote).toContain('too few');
});
