/** Twice the orthogonal mix of four signals by the Hadamard matrix of order 4, frames 0..count-1 in place. */
const mixFour = (a: Float64Array, b: Float64Array, c: Float64Array, d: Float64Array, count: number): void => {
  for (let i = 0; i < count; i++) {
    const sum = a[i]! + b[i]!;
    const difference = a[i]! - b[i]!;
    const otherSum = c[i]! + d[i]!;
    const otherDifference = c[i]! - d[i]!;
    a[i] = sum + otherSum;
    b[i] = difference + otherDifference;
    c[i] = sum - otherSum;
    d[i] = difference - otherDifference;
  }
};

/** Gain that makes the mix of 16 signals below orthogonal. */
export const MIX_GAIN = 1 / 4;

/**
 * First half of the mix of 16 signals by the Hadamard matrix of order 16: signals first .. first + 3, for each first of 0, 4, 8
 * and 12. Then every input reaches every output at the same level.
 */
export const mixNeighbours = (signals: readonly Float64Array[], first: number, count: number): void =>
  mixFour(signals[first]!, signals[first + 1]!, signals[first + 2]!, signals[first + 3]!, count);

/** Second half: signals n, n + 4, n + 8 and n + 12, for each n of 0 .. 3. */
export const mixAcross = (signals: readonly Float64Array[], n: number, count: number): void =>
  mixFour(signals[n]!, signals[n + 4]!, signals[n + 8]!, signals[n + 12]!, count);
