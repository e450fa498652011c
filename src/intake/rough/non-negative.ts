import { solveAt } from './normal-equations.ts';

/** What is gained below this part of the greatest is rounding. */
const NOTHING = 1e-10;

/**
 * The x >= 0 that minimises x'Ax - 2 b'x, which is the non-negative least squares solution for normal equations A, b:
 * the active-set method of Lawson and Hanson (Solving Least Squares Problems, 1974, ch. 23) on cross-products, as Bro and
 * de Jong have it (J. Chemometrics 11, 1997; both from memory). Places that `allowed` leaves out stay 0.
 *
 * @param A symmetric, positive semi-definite, n x n row after row
 */
export const nonNegative = (
  A: Float64Array,
  b: Float64Array,
  n: number,
  allowed: (place: number) => boolean,
): Float64Array => {
  const x = new Float64Array(n);
  const candidates = Array.from({ length: n }, (_, i) => i).filter((i) => allowed(i) && A[i * n + i]! > 0);
  // Gains are compared on the scale of each unknown.
  const gainOfRaising = (i: number): number => {
    let sum = b[i]!;
    for (const j of candidates) sum -= A[i * n + j]! * x[j]!;
    return sum / Math.sqrt(A[i * n + i]!);
  };
  const least = NOTHING * Math.max(0, ...candidates.map((i) => Math.abs(gainOfRaising(i))));
  let passive: readonly number[] = startingSet(A, b, n, candidates);
  settle(A, b, n, passive, x);
  passive = candidates.filter((i) => x[i]! > 0);
  const dropped = new Set<number>();
  for (let turn = 0; turn < 3 * n; turn++) {
    const outside = candidates
      .filter((i) => !(x[i]! > 0) && !dropped.has(i))
      .map((i) => [i, gainOfRaising(i)] as const);
    const best = outside.reduce((most, each) => (each[1] > most[1] ? each : most), [-1, least] as const);
    if (best[0] < 0) break;
    passive = [...passive, best[0]];
    settle(A, b, n, passive, x);
    passive = candidates.filter((i) => x[i]! > 0);
    // One that falls out again at once would come back for ever.
    if (x[best[0]] === 0) dropped.add(best[0]);
    else dropped.clear();
  }
  return x;
};

/** What the plain solution has above 0: near the answer in nearly all cases. */
const startingSet = (A: Float64Array, b: Float64Array, n: number, candidates: readonly number[]): number[] => {
  const plain = solveAt(A, b, n, candidates);
  return candidates.filter((_, k) => plain[k]! > 0);
};

/**
 * Moves x towards the solution on `passive` and stops at the border of what is allowed, as often as some unknown would
 * fall below 0; such ones leave the set and are 0.
 */
const settle = (A: Float64Array, b: Float64Array, n: number, passive: readonly number[], x: Float64Array): void => {
  let set = [...passive];
  while (set.length > 0) {
    const wanted = solveAt(A, b, n, set);
    const step = set.reduce((least, i, k) => {
      const to = wanted[k]!;
      return to > 0 ? least : Math.min(least, x[i]! / Math.max(x[i]! - to, Number.MIN_VALUE));
    }, 1);
    set.forEach((i, k) => (x[i] = x[i]! + step * (wanted[k]! - x[i]!)));
    const out = set.filter((i, k) => wanted[k]! <= 0 && x[i]! <= 1e-15 * Math.abs(wanted[k]!) + Number.MIN_VALUE);
    if (out.length === 0 && step === 1) break;
    // Where rounding leaves none exactly on the border, the lowest goes.
    const gone = out.length > 0 ? out : [set[wanted.indexOf(Math.min(...wanted))]!];
    for (const i of gone) x[i] = 0;
    set = set.filter((i) => !gone.includes(i));
  }
};
