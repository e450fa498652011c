/**
 * The argument at which `f`, with a single maximum between `low` and `high`, is greatest: golden-section search, to
 * 1e-5.
 */
export const greatestAt = (f: (x: number) => number, low: number, high: number): number => {
  const ratio = (Math.sqrt(5) - 1) / 2;
  let [a, b] = [high - ratio * (high - low), low + ratio * (high - low)];
  let [fa, fb] = [f(a), f(b)];
  while (high - low > 1e-5) {
    if (fa > fb) {
      [high, b, fb] = [b, a, fa];
      a = high - ratio * (high - low);
      fa = f(a);
    } else {
      [low, a, fa] = [a, b, fb];
      b = low + ratio * (high - low);
      fb = f(b);
    }
  }
  return (low + high) / 2;
};
