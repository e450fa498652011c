import { paddedCount, passOf, type Rows } from './dots.ts';

/**
 * Symmetric matrices over paths, kept as one number a pair (i, j) with i <= j, row by row.
 * A blend with gains g has the value of the quadratic form: the sum of weight(i, j) times the pair's number.
 */

/** Number of pairs of `count` paths, each path with itself included. */
export const pairCount = (count: number): number => (count * (count + 1)) / 2;

/** Place of the pair (i, j), in either order. */
export const pairIndex = (i: number, j: number, count: number): number => {
  const low = Math.min(i, j);
  const high = Math.max(i, j);
  return low * count - (low * (low - 1)) / 2 + high - low;
};

/** Weight of every pair for the gains: g_i squared on the diagonal, twice g_i g_j off it. */
export const pairWeights = (gains: readonly number[]): Float64Array => {
  const weights = new Float64Array(pairCount(gains.length));
  let at = 0;
  for (let i = 0; i < gains.length; i++) {
    for (let j = i; j < gains.length; j++) weights[at++] = gains[i]! * gains[j]! * (i === j ? 1 : 2);
  }
  return weights;
};

/** For each path the index of its sound in an earlier list; null: the sound is new. */
export type Places = readonly (number | null)[];

/** True if all `count` sounds have the same index as before. */
export const isInPlace = (places: Places, count: number): boolean =>
  places.length === count && places.every((place, n) => place === n);

/** The earlier index of each pair of paths, among the pairs of `count` paths; -1: one of the two is new. */
export const pairPlaces = (places: Places, count: number): Int32Array =>
  Int32Array.from(
    places.flatMap((one, i) =>
      places.slice(i).map((other) => (one === null || other === null ? -1 : pairIndex(one, other, count))),
    ),
  );

/** Numbers of pairs in a new order; 0 for those that were not there. */
export const pairsFrom = (values: Float64Array, places: Int32Array): Float64Array =>
  Float64Array.from(places, (place) => (place < 0 ? 0 : values[place]!));

/**
 * A sum of products that should cancel leaves rounding errors: what is below this part of their sizes (-150 dB)
 * is no signal. Summed single-precision samples are no better.
 */
const ROUNDING = 1e-15;

/** Value of the quadratic form at one place: `values` holds a number a pair. 0 where only rounding is left. */
export const quadratic = (values: Float64Array, weights: Float64Array): number => {
  let sum = 0;
  let size = 0;
  for (let pair = 0; pair < weights.length; pair++) {
    const part = weights[pair]! * values[pair]!;
    sum += part;
    size += part < 0 ? -part : part;
  }
  return (sum < 0 ? -sum : sum) > ROUNDING * size ? sum : 0;
};

/** All pairs of `count` paths, or (`changed` given) those of some paths with every path. */
export const rowsOf = (count: number, changed: readonly number[] | null): Rows => {
  const rows = changed
    ? changed.map((row) => ({ row, from: 0 }))
    : Array.from({ length: count }, (_, row) => ({ row, from: passOf(row) }));
  const isTwice = (row: number, column: number): boolean => column < row && (!changed || changed.includes(column));
  const wanted = rows.flatMap(({ row, from }) =>
    Array.from({ length: count - from }, (_, n) => ({ row, column: from + n })).filter(
      ({ column }) => !isTwice(row, column),
    ),
  );
  return {
    count,
    rows,
    cells: Int32Array.from(wanted, ({ row, column }) => row * paddedCount(count) + column),
    pairs: Int32Array.from(wanted, ({ row, column }) => pairIndex(row, column, count)),
  };
};

/** Writes the wanted pairs of `matrix` into `values`, a number a pair; the others stay as they are. */
export const takePairs = ({ cells, pairs }: Rows, matrix: Float64Array, values: Float64Array): void => {
  for (let n = 0; n < pairs.length; n++) values[pairs[n]!] = matrix[cells[n]!]!;
};
