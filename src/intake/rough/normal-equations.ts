/**
 * A x = b for a symmetric matrix A of n x n (row after row): the part of both that `places` names is solved by Cholesky's
 * factorisation. A pivot that is lost to rounding is given a value by which its x is 0.
 */
export const solveAt = (A: Float64Array, b: Float64Array, n: number, places: readonly number[]): Float64Array => {
  const L = factorAt(A, n, places);
  const x = Float64Array.from(places, (place) => b[place]!);
  solveFactored(L, x);
  return x;
};

/** Pivots below this part of the diagonal are rounding. */
const ROUNDING = 1e-12;
const HUGE = 1e150;

/** Lower factor, m x m row after row, of the part of A that `places` names. */
export const factorAt = (A: Float64Array, n: number, places: readonly number[]): Float64Array => {
  const m = places.length;
  const L = new Float64Array(m * m);
  for (let i = 0; i < m; i++) {
    const row = places[i]! * n;
    for (let j = 0; j <= i; j++) {
      let sum = A[row + places[j]!]!;
      for (let k = 0; k < j; k++) sum -= L[i * m + k]! * L[j * m + k]!;
      if (i > j) L[i * m + j] = sum / L[j * m + j]!;
      else L[i * m + i] = sum > ROUNDING * A[row + places[i]!]! ? Math.sqrt(sum) : HUGE;
    }
  }
  return L;
};

/** Solves L L' x = x in place. */
export const solveFactored = (L: Float64Array, x: Float64Array): void => {
  const m = x.length;
  for (let i = 0; i < m; i++) {
    let sum = x[i]!;
    for (let k = 0; k < i; k++) sum -= L[i * m + k]! * x[k]!;
    x[i] = sum / L[i * m + i]!;
  }
  for (let i = m - 1; i >= 0; i--) {
    let sum = x[i]!;
    for (let k = i + 1; k < m; k++) sum -= L[k * m + i]! * x[k]!;
    x[i] = sum / L[i * m + i]!;
  }
};

/** The inverse of L L', m x m row after row. */
export const inverseFactored = (L: Float64Array, m: number): Float64Array => {
  const out = new Float64Array(m * m);
  const column = new Float64Array(m);
  for (let j = 0; j < m; j++) {
    column.fill(0);
    column[j] = 1;
    solveFactored(L, column);
    for (let i = 0; i < m; i++) out[i * m + j] = column[i]!;
  }
  return out;
};
