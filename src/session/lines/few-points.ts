/**
 * Indices of the points that are enough to draw a curve straight from one to the next, nowhere off by more than `most` in value. `at`: where
 * each value lies, growing. The method of Ramer (1972) and of Douglas and Peucker (1973; both from memory), with the distance taken in
 * value and not across the line.
 */
export const fewPoints = (at: ArrayLike<number>, values: ArrayLike<number>, most: number): number[] => {
  const last = values.length - 1;
  if (last < 1) return last === 0 ? [0] : [];
  const kept = new Set([0, last]);
  const spans: (readonly [number, number])[] = [[0, last]];
  for (let span = spans.pop(); span; span = spans.pop()) {
    const [from, to] = span;
    let [worst, furthest] = [most, -1];
    for (let n = from + 1; n < to; n++) {
      const way = (at[n]! - at[from]!) / (at[to]! - at[from]!);
      const off = Math.abs(values[n]! - values[from]! - way * (values[to]! - values[from]!));
      if (off > worst) [worst, furthest] = [off, n];
    }
    if (furthest < 0) continue;
    kept.add(furthest);
    spans.push([from, furthest], [furthest, to]);
  }
  return [...kept].sort((a, b) => a - b);
};
