/** The middle one of `values` by size (of an even number the upper); 0 of none. */
export const median = (values: readonly number[]): number => quantile(values, 0.5);

/** The value below which the part `part` (0..1) of `values` lies; 0 of none. */
export const quantile = (values: readonly number[], part: number): number => {
  const sorted = values.toSorted((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(part * sorted.length))] ?? 0;
};

/** The value at which the weights of those below it and above it balance; 0 of none. */
export const weightedMedian = (values: readonly (readonly [value: number, weight: number])[]): number => {
  const sorted = values.filter(([, weight]) => weight > 0).toSorted(([a], [b]) => a - b);
  const half = sorted.reduce((sum, [, weight]) => sum + weight, 0) / 2;
  let sum = 0;
  for (const [value, weight] of sorted) {
    sum += weight;
    if (sum >= half) return value;
  }
  return 0;
};
