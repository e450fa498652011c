/** Inner products of many vectors at once: the inner loop of everything in this folder. */

/** A vector of either precision; sums are always double. */
export type Samples = Float32Array | Float64Array;

/** Vectors that one pass goes through together; lists of vectors are padded to a multiple of it. */
const WIDTH = 4;

/** `count` rounded up to whole passes. */
export const paddedCount = (count: number): number => Math.ceil(count / WIDTH) * WIDTH;

/** `vectors` with the first again behind them as often as whole passes need; what it gives there is not read. */
export const padded = <T extends Samples>(vectors: readonly T[]): T[] =>
  Array.from({ length: paddedCount(vectors.length) }, (_, n) => vectors[n] ?? vectors[0]!);

/** Which inner products of a set of vectors are to be computed: all, or those of one with every other. */
export interface Rows {
  readonly count: number;
  /** Rows of the matrix, each from a column on. */
  readonly rows: readonly { readonly row: number; readonly from: number }[];
  /** Where in the matrix (`count` rows of `paddedCount`) each wanted pair stands, and its place in `pairs.ts` order. */
  readonly cells: Int32Array;
  readonly pairs: Int32Array;
}

/** A matrix for `addProducts`, all zero. */
export const matrixFor = ({ count }: Rows): Float64Array => new Float64Array(count * paddedCount(count));

/**
 * Adds `weight` times the inner products of elements `from` to `to` of the wanted pairs of `vectors` (padded) to `matrix`.
 */
export const addProducts = (
  { rows, count }: Rows,
  vectors: readonly Samples[],
  from: number,
  to: number,
  weight: number,
  matrix: Float64Array,
): void => {
  const width = paddedCount(count);
  for (let r = 0; r < rows.length; r++) {
    const { row, from: first } = rows[r]!;
    for (let column = first; column < width; column += WIDTH) {
      addFour(vectors, row, column, from, to, weight, matrix, row * width + column);
    }
  }
};

const addFour = (
  vectors: readonly Samples[],
  row: number,
  column: number,
  from: number,
  to: number,
  weight: number,
  matrix: Float64Array,
  at: number,
): void => {
  const a = vectors[row]!;
  const b = vectors[column]!;
  const c = vectors[column + 1]!;
  const d = vectors[column + 2]!;
  const e = vectors[column + 3]!;
  let ab = 0;
  let ac = 0;
  let ad = 0;
  let ae = 0;
  for (let n = from; n < to; n++) {
    const x = a[n]!;
    ab += x * b[n]!;
    ac += x * c[n]!;
    ad += x * d[n]!;
    ae += x * e[n]!;
  }
  matrix[at]! += weight * ab;
  matrix[at + 1]! += weight * ac;
  matrix[at + 2]! += weight * ad;
  matrix[at + 3]! += weight * ae;
};

/** First column of the pass that holds `column`. */
export const passOf = (column: number): number => column - (column % WIDTH);
