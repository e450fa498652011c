/** Uniform random number from -1 to 1 that belongs to `index` of the sequence `seed`: the same whenever it is asked for. */
const pointOf = (seed: number, index: number): number => {
  let bits = Math.imul(seed + 1, 0x9e3779b1) ^ Math.imul(index + 1, 0x85ebca77);
  bits = Math.imul(bits ^ (bits >>> 15), 0x2c1b3c6d);
  bits = Math.imul(bits ^ (bits >>> 12), 0x297a2d39);
  return (bits ^ (bits >>> 15)) / 2 ** 31;
};

/**
 * A slow random movement from -1 to 1 at place `at` (0 and up): a uniform cubic B-spline over one random point for every
 * whole number. It changes by less than 2 from one whole number to the next, and never faster: the speed of such a spline
 * is a mean of the differences of its points.
 */
export const wanderAt = (seed: number, at: number): number => {
  const index = Math.floor(at);
  const x = at - index;
  const y = 1 - x;
  return (
    (y * y * y * pointOf(seed, index) +
      (4 - 3 * x * x * (1 + y)) * pointOf(seed, index + 1) +
      (4 - 3 * y * y * (1 + x)) * pointOf(seed, index + 2) +
      x * x * x * pointOf(seed, index + 3)) /
    6
  );
};
