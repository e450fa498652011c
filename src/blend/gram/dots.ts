import { Kernels } from '../../measure/kernels/kernels.ts';

/** Inner products of many vectors at once: the inner loop of everything in this folder. */

/** A vector of either precision; sums are always double. */
export type Samples = Float32Array | Float64Array;

/** Vectors that one pass goes through together; lists of vectors are padded to a multiple of it. */
const WIDTH = 4;

/** `count` rounded up to whole passes. */
export const paddedCount = (count: number): number => Math.ceil(count / WIDTH) * WIDTH;

/** First column of the pass that holds `column`. */
export const passOf = (column: number): number => column - (column % WIDTH);

/** Which inner products of a set of vectors are to be computed: all, or those of one with every other. */
export interface Rows {
  readonly count: number;
  /** Rows of the matrix, each from a column on. */
  readonly rows: readonly { readonly row: number; readonly from: number }[];
  /**
   * Index in the matrix (`count` rows of `paddedCount`) of each wanted pair, and its index in the order of pairs.ts.
   */
  readonly cells: Int32Array;
  readonly pairs: Int32Array;
}

/** Kernel memory, bytes, for vectors of `bytes` each and for matrices of their products. */
export const productRoom = (count: number, bytes: number, matrices: number): number =>
  paddedCount(count) * (bytes + 64) + matrices * (8 * count * paddedCount(count) + 64) + 4096;

/** Vectors, and the products of those pairs that are wanted. With SIMD where there are `kernels` with room. */
export class Products {
  /** Vectors one after the other, `length` numbers each; those of the padding are not read. */
  private readonly all: Samples;
  readonly vectors: readonly Samples[];

  constructor(
    private readonly rows: Rows,
    private readonly length: number,
    private readonly precision: 'single' | 'double',
    private readonly kernels: Kernels | null,
  ) {
    const width = paddedCount(rows.count);
    this.all = Kernels[precision === 'single' ? 'singles' : 'doubles'](kernels, width * length);
    this.vectors = Array.from({ length: rows.count }, (_, n) => this.all.subarray(n * length, (n + 1) * length));
  }

  /** A matrix for `add`, all zero. */
  matrix(): Float64Array {
    return Kernels.doubles(this.kernels, this.rows.count * paddedCount(this.rows.count));
  }

  /** Adds `weight` times the inner products of elements `from` to `to` of the wanted pairs to `matrix`. */
  add(from: number, to: number, weight: number, matrix: Float64Array): void {
    const { rows, count } = this.rows;
    const width = paddedCount(count);
    for (let r = 0; r < rows.length; r++) {
      const { row, from: first } = rows[r]!;
      this.addRow(row, first, (width - first) / WIDTH, from, to - from, weight, matrix, row * width + first);
    }
  }

  private addRow(
    row: number,
    column: number,
    passes: number,
    from: number,
    count: number,
    weight: number,
    matrix: Float64Array,
    at: number,
  ): void {
    const { all, length, kernels, precision } = this;
    const [rowAt, columnAt] = [row * length + from, column * length + from];
    if (!kernels) {
      addProducts(all, rowAt, all, columnAt, length, passes, count, weight, matrix, at);
      return;
    }
    const { byteOffset, BYTES_PER_ELEMENT: size } = all;
    const add = precision === 'single' ? kernels.run.addSingles : kernels.run.addDoubles;
    add(
      byteOffset + size * rowAt,
      byteOffset + size * columnAt,
      size * length,
      passes,
      count,
      weight,
      matrix.byteOffset + 8 * at,
    );
  }
}

/**
 * Adds `weight` times the products of `count` numbers of a row with four columns in each of so many `passes`, all `apart`,
 * to as many sums from `at` on. Twin of addSingles and addDoubles of kernels.as.
 */
export const addProducts = (
  row: Samples,
  rowAt: number,
  columns: Samples,
  columnAt: number,
  apart: number,
  passes: number,
  count: number,
  weight: number,
  sums: Float64Array,
  at: number,
): void => {
  for (let n = 0; n < WIDTH * passes; n += 2) {
    addTwo(row, rowAt, columns, columnAt + n * apart, apart, count, weight, sums, at + n);
  }
};

const addTwo = (
  row: Samples,
  rowAt: number,
  columns: Samples,
  columnAt: number,
  apart: number,
  count: number,
  weight: number,
  sums: Float64Array,
  at: number,
): void => {
  let [even, odd, evenNext, oddNext] = [0, 0, 0, 0];
  const next = columnAt + apart;
  let n = 0;
  for (; n + 1 < count; n += 2) {
    const x = row[rowAt + n]!;
    const y = row[rowAt + n + 1]!;
    even += x * columns[columnAt + n]!;
    odd += y * columns[columnAt + n + 1]!;
    evenNext += x * columns[next + n]!;
    oddNext += y * columns[next + n + 1]!;
  }
  if (n < count) {
    even += row[rowAt + n]! * columns[columnAt + n]!;
    evenNext += row[rowAt + n]! * columns[next + n]!;
  }
  sums[at]! += weight * (even + odd);
  sums[at + 1]! += weight * (evenNext + oddNext);
};
