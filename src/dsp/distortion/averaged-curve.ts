import { CELLS, CELLS_PER_UNIT, placeOf, REACH, type ShapingCurve, valueAt } from './shaping-curve.ts';

/** Inputs nearer to each other than this give the value half-way between them: the quotient would be mostly rounding error. */
const CLOSE = 1e-5;

/** Integral of a curve from 0 to the left border of each cell, and to the right border of the last. */
export type CurveIntegral = Float64Array;

/** Integral over part `u` (0..1) of the cell whose coefficients begin at `c`, in cells. */
const withinCell = (curve: ShapingCurve, c: number, u: number): number =>
  u * (curve[c]! + u * (curve[c + 1]! / 2 + u * (curve[c + 2]! / 3 + (u * curve[c + 3]!) / 4)));

export const integralOf = (curve: ShapingCurve): CurveIntegral => {
  const integral = new Float64Array(CELLS + 1);
  const middle = CELLS / 2;
  const areas = Float64Array.from({ length: CELLS }, (_, cell) => withinCell(curve, 4 * cell, 1) / CELLS_PER_UNIT);
  for (let cell = middle; cell < CELLS; cell++) integral[cell + 1] = integral[cell]! + areas[cell]!;
  for (let cell = middle - 1; cell >= 0; cell--) integral[cell] = integral[cell + 1]! - areas[cell]!;
  return integral;
};

/** Integral of a curve from 0 to `x`; beyond its reach the curve is flat. */
export const integralAt = (curve: ShapingCurve, integral: CurveIntegral, x: number): number => {
  if (x >= REACH) return integral[CELLS]! + (x - REACH) * valueAt(curve, REACH);
  if (!(x > -REACH)) return integral[0]! + (x + REACH) * valueAt(curve, -REACH);
  const place = placeOf(x);
  const cell = place | 0;
  return integral[cell]! + withinCell(curve, 4 * cell, place - cell) / CELLS_PER_UNIT;
};

/** Mean of a curve from `x0` to `x1`, whose integrals are `i0` and `i1`. */
export const meanBetween = (curve: ShapingCurve, x0: number, i0: number, x1: number, i1: number): number => {
  const way = x1 - x0;
  return Math.abs(way) < CLOSE ? valueAt(curve, (x0 + x1) / 2) : (i1 - i0) / way;
};
