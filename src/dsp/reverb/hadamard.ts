/** Orthogonal mix of four signals in place: the Hadamard matrix of order 4, halved. */
const mixFour = (a: Float64Array, b: Float64Array, c: Float64Array, d: Float64Array, count: number): void => {
  for (let i = 0; i < count; i++) {
    const sum = a[i]! + b[i]!;
    const difference = a[i]! - b[i]!;
    const otherSum = c[i]! + d[i]!;
    const otherDifference = c[i]! - d[i]!;
    a[i] = 0.5 * (sum + otherSum);
    b[i] = 0.5 * (difference + otherDifference);
    c[i] = 0.5 * (sum - otherSum);
    d[i] = 0.5 * (difference - otherDifference);
  }
};

/**
 * Mixes 16 signals, frames 0..count-1, in place by the Hadamard matrix of order 16 over 4: orthogonal, and every input
 * reaches every output at the same level.
 */
export const mixSixteen = (signals: readonly Float64Array[], count: number): void => {
  for (let i = 0; i < 16; i += 4) mixFour(signals[i]!, signals[i + 1]!, signals[i + 2]!, signals[i + 3]!, count);
  for (let i = 0; i < 4; i++) mixFour(signals[i]!, signals[i + 4]!, signals[i + 8]!, signals[i + 12]!, count);
};
