/** Probability of each number of hits 0..n in `n` independent tries of probability `p` (0..1). n up to 1000. */
export const binomialMasses = (n: number, p: number): Float64Array => {
  const masses = new Float64Array(n + 1);
  let logChoices = 0;
  for (let k = 0; k <= n; k++) {
    if (k > 0) logChoices += Math.log((n - k + 1) / k);
    const log = logChoices + power(k, p) + power(n - k, 1 - p);
    masses[k] = Math.exp(log);
  }
  return masses;
};

/** Logarithm of p to the k; 0 to the 0 is 1. */
const power = (k: number, p: number): number => (k === 0 ? 0 : k * Math.log(p));

/** Probability of at least `hits` in `n` tries, each of probability `p`. */
export const binomialTail = (hits: number, n: number, p = 0.5): number => {
  const masses = binomialMasses(n, p);
  let sum = 0;
  for (let k = n; k >= Math.max(0, hits); k--) sum += masses[k]!;
  return Math.min(1, sum);
};

/** Least number of hits whose one-sided probability at p = 0.5 is below `alpha`; null when all n are not enough. */
export const leastHits = (n: number, alpha: number): number | null => {
  const masses = binomialMasses(n, 0.5);
  let sum = 0;
  let least: number | null = null;
  for (let k = n; k >= 0; k--) {
    sum += masses[k]!;
    if (sum >= alpha) break;
    least = k;
  }
  return least;
};

/** Probability that `n` tries with a true rate of `rate` reach `leastHits`: the power of the test. */
export const powerAt = (rate: number, n: number, alpha: number): number => {
  const least = leastHits(n, alpha);
  return least === null ? 0 : binomialTail(least, n, rate);
};

/** Where the rising function `f` reaches `value` between 0 and 1. */
const whereReaches = (f: (x: number) => number, value: number): number => {
  let [low, high] = [0, 1];
  while (high - low > 1e-9) {
    const middle = (low + high) / 2;
    if (f(middle) < value) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
};

/** Least true rate that `n` tries find with probability `power`; null when no rate is found with so few. */
export const smallestDetectable = (n: number, alpha: number, power: number): number | null =>
  leastHits(n, alpha) === null ? null : whereReaches((rate) => powerAt(rate, n, alpha), power);

/** Exact two-sided interval of the true rate after `hits` in `n` (Clopper and Pearson, Biometrika 26, 1934). */
export const rateInterval = (hits: number, n: number, confidence = 0.95): readonly [number, number] => {
  const side = (1 - confidence) / 2;
  const low = hits === 0 ? 0 : whereReaches((rate) => binomialTail(hits, n, rate), side);
  const high = hits === n ? 1 : whereReaches((rate) => binomialTail(hits + 1, n, rate), 1 - side);
  return [low, high];
};
