/** Highest prediction order; higher orders hardly make files smaller. */
const MOST = 8;
/** Bits of the quantised coefficients, sign included. */
export const PRECISION = 14;

/** A linear prediction: sample i is sum of weights[n] * x[i - 1 - n] / 2^shift, rounded down. */
export interface Predictor {
  readonly weights: readonly number[];
  readonly shift: number;
}

/** Differences of order 0 to 4 as FLAC has them without coefficients in the file (RFC 9639, section 9.2.5). */
export const FIXED: readonly Predictor[] = [[], [1], [2, -1], [3, -3, 1], [4, -6, 4, -1]].map((weights) => ({
  weights,
  shift: 0,
}));

/** The residual of a predictor over a block: exact integers; the warm-up samples have 0. */
export const residualOf = (block: Int32Array, { weights, shift }: Predictor): Float64Array => {
  const order = weights.length;
  const residual = new Float64Array(block.length);
  const scale = 2 ** -shift;
  for (let i = order; i < block.length; i++) {
    let sum = 0;
    for (let n = 0; n < order; n++) sum += weights[n]! * block[i - 1 - n]!;
    residual[i] = block[i]! - Math.floor(sum * scale);
  }
  return residual;
};

/** Products of a block with itself, delayed by 0 to MOST; its ends are weighted down by a cosine over a quarter each. */
const correlationOf = (block: Int32Array): Float64Array => {
  const frames = block.length;
  const edge = frames / 4;
  const weighted = Float64Array.from(block, (x, i) => {
    const inside = Math.min(i + 0.5, frames - i - 0.5);
    return inside >= edge ? x : x * (0.5 - 0.5 * Math.cos((Math.PI * inside) / edge));
  });
  return Float64Array.from({ length: MOST + 1 }, (_, lag) => {
    let sum = 0;
    for (let i = lag; i < frames; i++) sum += weighted[i]! * weighted[i - lag]!;
    return sum;
  });
};

/** Quantised coefficients; null where they do not fit. */
const quantised = (weights: readonly number[]): Predictor | null => {
  const largest = Math.max(...weights.map(Math.abs));
  if (!(largest > 0)) return null;
  const shift = Math.min(15, PRECISION - 2 - Math.floor(Math.log2(largest)));
  if (shift < 0) return null;
  const limit = 2 ** (PRECISION - 1);
  // The rounding error is carried to the next, so that the sum of all is kept.
  let rest = 0;
  const whole = weights.map((weight) => {
    rest += weight * 2 ** shift;
    const value = Math.min(limit - 1, Math.max(-limit, Math.round(rest)));
    rest -= value;
    return value;
  });
  return { weights: whole, shift };
};

/** The best predictor of order 1 to MOST for a block (Levinson-Durbin recursion), by its estimated size. */
export const fittedPredictor = (block: Int32Array): Predictor | null => {
  const correlation = correlationOf(block);
  let error = correlation[0]!;
  if (error === 0 || block.length <= 2 * MOST) return null;
  let weights: number[] = [];
  let best: { readonly weights: readonly number[]; readonly bits: number } | null = null;
  for (let order = 1; order <= MOST; order++) {
    let rest = correlation[order]!;
    for (let n = 0; n < weights.length; n++) rest -= weights[n]! * correlation[order - 1 - n]!;
    const reflection = rest / error;
    weights = [...weights.map((weight, n) => weight - reflection * weights[weights.length - 1 - n]!), reflection];
    error *= 1 - reflection ** 2;
    if (!(error > 0)) break;
    const bits = (block.length / 2) * Math.log2(error) + order * PRECISION;
    if (best === null || bits < best.bits) best = { weights, bits };
  }
  return best && quantised(best.weights);
};
