import { expect, test } from 'vitest';
import { binomialMasses, binomialTail, leastHits, powerAt, rateInterval } from '../../src/blend/trial/binomial.ts';

// Values of the binomial distribution, from the survival function of scipy 1.x (binom.sf, binom.ppf, beta.ppf).

test.each([
  [5, 5, 0.03125],
  [7, 8, 0.035156],
  [8, 10, 0.054688],
  [9, 10, 0.010742],
  [10, 10, 0.000977],
  [10, 12, 0.019287],
  [12, 16, 0.038406],
  [13, 16, 0.010635],
  [14, 16, 0.00209],
  [15, 20, 0.020695],
  [18, 25, 0.021643],
])('%i right of %i by guessing has the probability %f', (hits, n, p) => {
  expect(binomialTail(hits, n)).toBeCloseTo(p, 6);
});

test('the least number right below 5 % and 1 %, for 10 to 25 trials', () => {
  const counts = Array.from({ length: 16 }, (_, n) => n + 10);
  expect(counts.map((n) => leastHits(n, 0.05))).toEqual([9, 9, 10, 10, 11, 12, 12, 13, 13, 14, 15, 15, 16, 16, 17, 18]);
  expect(counts.map((n) => leastHits(n, 0.01))).toEqual([
    10, 10, 11, 12, 12, 13, 14, 14, 15, 15, 16, 17, 17, 18, 19, 19,
  ]);
  expect(leastHits(4, 0.05)).toBeNull();
});

test.each([
  [10, 0.149],
  [16, 0.45],
  [25, 0.512],
  [50, 0.859],
])('%i trials find a true 70 %% with power %f', (n, power) => {
  expect(powerAt(0.7, n, 0.05)).toBeCloseTo(power, 3);
});

test('12 of 16 leaves the true rate between 0.476 and 0.927', () => {
  const [low, high] = rateInterval(12, 16);
  expect(low).toBeCloseTo(0.476, 3);
  expect(high).toBeCloseTo(0.927, 3);
});

test('all probabilities of 200 tries add up to 1, at any rate', () => {
  for (const p of [0, 0.03, 0.5, 0.97, 1]) {
    expect(binomialMasses(200, p).reduce((sum, mass) => sum + mass, 0)).toBeCloseTo(1, 12);
  }
});
