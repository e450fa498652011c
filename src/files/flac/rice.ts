import type { BitWriter } from './bit-writer.ts';

/** Most partitions of a block, each with its own parameter: 2^6. */
const FINEST = 6;
/** Highest parameter in 5 bits; 31 is the escape code for unencoded numbers. */
const LARGEST = 30;

/** Rice coding of a residual (RFC 9639, section 9.2.7), and its size in bits. */
export interface RiceCode {
  /** The block is split into 2^order parts. */
  readonly order: number;
  /** Parameter of each partition. */
  readonly parameters: readonly number[];
  readonly bits: number;
}

/** Zigzag mapping: the sign in the lowest bit, so that all are positive. */
const folded = (value: number): number => (value < 0 ? -2 * value - 1 : 2 * value);

/** The parameter for `count` numbers of this sum, and the bits that they take with it (an estimate within a bit a number). */
const parameterFor = (sum: number, count: number): { readonly parameter: number; readonly bits: number } => {
  let best = { parameter: 0, bits: Infinity };
  const guess = Math.max(0, Math.floor(Math.log2(Math.max(1, sum / count))) - 1);
  for (let parameter = guess; parameter <= Math.min(LARGEST, guess + 2); parameter++) {
    const bits = count * (parameter + 1) + Math.max(0, sum / 2 ** parameter - count / 2);
    if (bits < best.bits) best = { parameter, bits };
  }
  return best;
};

/** The best code for a residual, which stands in `residual` from `from` (the order of its predictor) to its end. */
export const riceCodeOf = (residual: Float64Array, from: number): RiceCode => {
  const frames = residual.length;
  let order = FINEST;
  // Partitions are of equal length, and the first contains all warm-up samples.
  while (order > 0 && (frames % 2 ** order !== 0 || frames / 2 ** order <= from)) order--;
  let sums = new Float64Array(2 ** order);
  const length = frames / sums.length;
  for (let i = from; i < frames; i++) sums[Math.floor(i / length)]! += folded(residual[i]!);
  let best: RiceCode = { order: 0, parameters: [], bits: Infinity };
  for (; order >= 0; order--) {
    const part = frames / 2 ** order;
    const found = [...sums].map((sum, n) => parameterFor(sum, n === 0 ? part - from : part));
    const bits = found.reduce((all, each) => all + 5 + each.bits, 6);
    if (bits < best.bits) best = { order, parameters: found.map(({ parameter }) => parameter), bits };
    sums = Float64Array.from({ length: sums.length / 2 }, (_, n) => sums[2 * n]! + sums[2 * n + 1]!);
  }
  return best;
};

export const putResidual = (out: BitWriter, residual: Float64Array, from: number, code: RiceCode): void => {
  out.put(1, 2); // parameters of 5 bits
  out.put(code.order, 4);
  const part = residual.length / code.parameters.length;
  code.parameters.forEach((parameter, n) => {
    out.put(parameter, 5);
    const unit = 2 ** parameter;
    for (let i = Math.max(from, n * part); i < (n + 1) * part; i++) {
      const value = folded(residual[i]!);
      const high = Math.floor(value / unit);
      out.unary(high);
      out.put(value - high * unit, parameter);
    }
  });
};
