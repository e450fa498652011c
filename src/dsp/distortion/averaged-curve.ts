import { CELLS, CELLS_PER_UNIT, placeOf, REACH, type ShapingCurve, valueAt } from './shaping-curve.ts';

/** Inputs nearer to each other than this give the value half-way between them: the quotient would be mostly rounding error. */
const CLOSE = 1e-5;

/** Integral of a curve from 0 to the left border of each cell, and to the right border of the last. */
export type CurveIntegral = Float64Array;

/** Integral of the integral, likewise. */
export type SecondIntegral = Float64Array;

/** Integral over part `u` (0..1) of the cell whose coefficients begin at `c`, in cells. */
export const withinCell = (curve: ShapingCurve, c: number, u: number): number =>
  u * (curve[c]! + u * (curve[c + 1]! / 2 + u * (curve[c + 2]! / 3 + (u * curve[c + 3]!) / 4)));

export const integralOf = (curve: ShapingCurve): CurveIntegral => {
  const integral = new Float64Array(CELLS + 1);
  const middle = CELLS / 2;
  const areas = Float64Array.from({ length: CELLS }, (_, cell) => withinCell(curve, 4 * cell, 1) / CELLS_PER_UNIT);
  for (let cell = middle; cell < CELLS; cell++) integral[cell + 1] = integral[cell]! + areas[cell]!;
  for (let cell = middle - 1; cell >= 0; cell--) integral[cell] = integral[cell + 1]! - areas[cell]!;
  return integral;
};

/** Integral over part `u` of that integral, in square cells. */
export const twiceWithinCell = (curve: ShapingCurve, c: number, u: number): number =>
  u * u * (curve[c]! / 2 + u * (curve[c + 1]! / 6 + u * (curve[c + 2]! / 12 + (u * curve[c + 3]!) / 20)));

export const secondIntegralOf = (curve: ShapingCurve, integral: CurveIntegral): SecondIntegral => {
  const second = new Float64Array(CELLS + 1);
  const middle = CELLS / 2;
  const areas = Float64Array.from(
    { length: CELLS },
    (_, cell) => (integral[cell]! + twiceWithinCell(curve, 4 * cell, 1) / CELLS_PER_UNIT) / CELLS_PER_UNIT,
  );
  for (let cell = middle; cell < CELLS; cell++) second[cell + 1] = second[cell]! + areas[cell]!;
  for (let cell = middle - 1; cell >= 0; cell--) second[cell] = second[cell + 1]! - areas[cell]!;
  return second;
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

/** Integral from 0 to `x` of a curve's integral; beyond its reach the curve is flat. */
export const secondIntegralAt = (
  curve: ShapingCurve,
  integral: CurveIntegral,
  second: SecondIntegral,
  x: number,
): number => {
  const held = Math.max(-REACH, Math.min(REACH, x));
  const beyond = x - held;
  if (beyond !== 0) {
    const border = beyond > 0 ? CELLS : 0;
    return second[border]! + beyond * (integral[border]! + (beyond * valueAt(curve, held)) / 2);
  }
  const place = placeOf(x);
  const cell = place | 0;
  const u = place - cell;
  return second[cell]! + (u * integral[cell]! + twiceWithinCell(curve, 4 * cell, u) / CELLS_PER_UNIT) / CELLS_PER_UNIT;
};

/** Inputs nearer to each other than this take Simpson's rule: the quotients would be mostly rounding error. */
const NEAR = 1e-3;

/**
 * Mean of a curve from `x0` to `x1` under a weight that rises from 0 to 1 on the way: the integral of t f(x0 + t (x1 - x0))
 * for t from 0 to 1, by parts. `i1` is the integral at `x1`; `s0` and `s1` are the second integrals.
 */
export const risingMeanBetween = (
  curve: ShapingCurve,
  x0: number,
  s0: number,
  x1: number,
  i1: number,
  s1: number,
): number => {
  const way = x1 - x0;
  if (Math.abs(way) < NEAR) return (2 * valueAt(curve, (x0 + x1) / 2) + valueAt(curve, x1)) / 6;
  // Beyond the reach the integrals are so great that their difference is mostly rounding error, and the curve is flat.
  if ((x0 >= REACH && x1 >= REACH) || (x0 <= -REACH && x1 <= -REACH)) return valueAt(curve, x1) / 2;
  return (i1 - (s1 - s0) / way) / way;
};
