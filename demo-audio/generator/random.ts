/** Seeded random numbers: the same seed text gives the same performance on every engine (integer arithmetic only). */
export interface Random {
  /** Uniform in [0, 1). */
  next(): number;
  /** Uniform in [-1, 1): white noise when called once a sample. */
  signed(): number;
  /** Bell-shaped, mean 0, standard deviation 1, never beyond 3.5 (sum of four uniforms, so no logarithm). */
  bell(): number;
}

/** Spreads the letters of a seed over 32 bits (FNV-1a). */
const hashOf = (text: string): number => {
  let hash = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193);
  return hash >>> 0;
};

/** Generator of the xoshiro128 family with the "starstar" scrambler (Blackman and Vigna 2021). */
export const randomFrom = (seed: string): Random => {
  const words = [0, 1, 2, 3].map((i) => hashOf(`${seed}/${i}`) | 1);
  let [a, b, c, d] = words as [number, number, number, number];
  const rotate = (x: number, by: number): number => (x << by) | (x >>> (32 - by));
  const next = (): number => {
    const result = Math.imul(rotate(Math.imul(b, 5), 7), 9);
    const t = b << 9;
    c ^= a;
    d ^= b;
    b ^= c;
    a ^= d;
    c ^= t;
    d = rotate(d, 11);
    return (result >>> 0) / 4294967296;
  };
  for (let i = 0; i < 16; i++) next();
  return {
    next,
    signed: () => 2 * next() - 1,
    bell: () => (next() + next() + next() + next() - 2) * Math.sqrt(3),
  };
};

/**
 * A slow, smooth random line for drift of pitch, level and timing.
 * Returns `count` values in about -1..+1, one a step, with a new corner every `stepsPerCorner` steps.
 */
export const wander = (random: Random, count: number, stepsPerCorner: number): Float32Array => {
  const line = new Float32Array(count);
  let from = random.signed();
  let to = random.signed();
  for (let i = 0; i < count; i++) {
    const step = i % stepsPerCorner;
    if (step === 0 && i > 0) [from, to] = [to, random.signed()];
    const x = step / stepsPerCorner;
    line[i] = from + (to - from) * x * x * (3 - 2 * x);
  }
  return line;
};
