/** Solution of a square system, by Gaussian elimination with row exchange; rows without a pivot give 0. */
export const solveLinear = (matrix: readonly (readonly number[])[], right: readonly number[]): number[] => {
  const rows = matrix.map((row, n) => [...row, right[n]!]);
  const size = rows.length;
  for (let column = 0; column < size; column++) {
    let pivot = column;
    for (let n = column + 1; n < size; n++) {
      if (Math.abs(rows[n]![column]!) > Math.abs(rows[pivot]![column]!)) pivot = n;
    }
    [rows[column], rows[pivot]] = [rows[pivot]!, rows[column]!];
    const top = rows[column]!;
    if (top[column] === 0) continue;
    for (let n = column + 1; n < size; n++) {
      const factor = rows[n]![column]! / top[column]!;
      for (let k = column; k <= size; k++) rows[n]![k]! -= factor * top[k]!;
    }
  }
  const solution = new Array<number>(size).fill(0);
  for (let n = size - 1; n >= 0; n--) {
    const row = rows[n]!;
    const known = solution.reduce((sum, value, k) => (k > n ? sum + row[k]! * value : sum), 0);
    solution[n] = row[n] === 0 ? 0 : (row[size]! - known) / row[n]!;
  }
  return solution;
};
