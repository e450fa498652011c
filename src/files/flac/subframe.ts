import type { BitWriter } from './bit-writer.ts';
import { FIXED, fittedPredictor, PRECISION, residualOf, type Predictor } from './predict.ts';
import { putResidual, riceCodeOf, type RiceCode } from './rice.ts';

/** The largest residual that decoders must take (RFC 9639, section 9.2.7.3). */
const LARGEST_RESIDUAL = 2 ** 31 - 1;

/** One channel of a block and the shortest coding found for it (RFC 9639, section 9.2). */
export interface Subframe {
  readonly block: Int32Array;
  /** Word length of its samples; a side channel has one bit more. */
  readonly width: number;
  readonly bits: number;
  /** null: verbatim, or one constant. */
  readonly coded: Coded | null;
  readonly isConstant: boolean;
}

interface Coded {
  readonly predictor: Predictor;
  readonly isFixed: boolean;
  readonly residual: Float64Array;
  readonly code: RiceCode;
}

const codedBy = (block: Int32Array, predictor: Predictor, isFixed: boolean): Coded | null => {
  if (predictor.weights.length >= block.length) return null;
  const residual = residualOf(block, predictor);
  if (residual.some((value) => Math.abs(value) > LARGEST_RESIDUAL)) return null;
  return { predictor, isFixed, residual, code: riceCodeOf(residual, predictor.weights.length) };
};

const bitsOf = ({ predictor: { weights }, isFixed, code }: Coded, width: number): number =>
  8 + weights.length * width + (isFixed ? 0 : 9 + weights.length * PRECISION) + code.bits;

/** The fixed predictor with the smallest sum of absolute residuals. */
const bestFixed = (block: Int32Array): Predictor => {
  let best = { predictor: FIXED[0]!, sum: Infinity };
  for (const predictor of FIXED) {
    const sum = residualOf(block, predictor).reduce((all, value) => all + Math.abs(value), 0);
    if (sum < best.sum) best = { predictor, sum };
  }
  return best.predictor;
};

export const subframeOf = (block: Int32Array, width: number): Subframe => {
  if (block.every((x) => x === block[0])) return { block, width, bits: 8 + width, coded: null, isConstant: true };
  const fitted = fittedPredictor(block);
  const tried = [codedBy(block, bestFixed(block), true), fitted && codedBy(block, fitted, false)];
  let best: Subframe = { block, width, bits: 8 + width * block.length, coded: null, isConstant: false };
  for (const coded of tried) {
    const bits = coded ? bitsOf(coded, width) : Infinity;
    if (bits < best.bits) best = { ...best, bits, coded };
  }
  return best;
};

export const putSubframe = (out: BitWriter, { block, width, coded, isConstant }: Subframe): void => {
  if (isConstant || coded === null) {
    out.put(isConstant ? 0 : 0b10, 8);
    for (const sample of isConstant ? block.subarray(0, 1) : block) out.put(sample, width);
    return;
  }
  const { predictor, isFixed, residual, code } = coded;
  const order = predictor.weights.length;
  out.put((isFixed ? 8 + order : 32 + order - 1) << 1, 8);
  for (const sample of block.subarray(0, order)) out.put(sample, width);
  if (!isFixed) {
    out.put(PRECISION - 1, 4);
    out.put(predictor.shift, 5);
    for (const weight of predictor.weights) out.put(weight, PRECISION);
  }
  putResidual(out, residual, order, code);
};
