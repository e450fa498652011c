/** Cells per unit of input. All bends of the curves below lie on cell borders. */
export const CELLS_PER_UNIT = 64;
/** Inputs beyond this are held: every curve is flat there (tanh is within 1e-10 of 1). */
export const REACH = 12;
export const CELLS = 2 * REACH * CELLS_PER_UNIT;
/** Just inside the last cell. */
const LAST = CELLS - 1e-9;

/**
 * A memoryless curve as one cubic per cell, four coefficients each: all curves run through the same few multiplications,
 * with the same result on every engine. Cubic and straight pieces are exact, tanh is within 1e-9.
 */
export type ShapingCurve = Float64Array;

/** Tabulates `shape` by the cubics through four points of each cell. */
export const tabulate = (shape: (x: number) => number): ShapingCurve => {
  const curve = new Float64Array(4 * CELLS);
  for (let cell = 0; cell < CELLS; cell++) {
    const at = (part: number): number => shape((cell + part) / CELLS_PER_UNIT - REACH);
    const [f0, f1, f2, f3] = [at(0), at(1 / 3), at(2 / 3), at(1)];
    curve.set(
      [
        f0,
        -5.5 * f0 + 9 * f1 - 4.5 * f2 + f3,
        4.5 * (2 * f0 - 5 * f1 + 4 * f2 - f3),
        4.5 * (-f0 + 3 * f1 - 3 * f2 + f3),
      ],
      4 * cell,
    );
  }
  return curve;
};

/** Where `x` lies in a curve, in cells from its left end. */
export const placeOf = (x: number): number => {
  const place = (x + REACH) * CELLS_PER_UNIT;
  if (!(place > 0)) return 0;
  return place > LAST ? LAST : place;
};

/** Value of a curve at `x`. */
export const valueAt = (curve: ShapingCurve, x: number): number => {
  const place = placeOf(x);
  const cell = place | 0;
  const u = place - cell;
  const c = 4 * cell;
  return curve[c]! + u * (curve[c + 1]! + u * (curve[c + 2]! + u * curve[c + 3]!));
};

/** Three folds and a crest: where the folded curve ends, level. */
const FOLDS_END = 3.5 * Math.PI;
/** Second harmonic of a full wave against its first, halved: -26 dB. */
const SECOND = 0.1;

const secondOf = (x: number): number => {
  if (Math.abs(x) <= 1) return x + SECOND * x * x;
  const side = Math.sign(x);
  return side + SECOND + (1 + 2 * SECOND * side) * Math.tanh(x - side);
};

/**
 * The curves; each has slope 1 at 0 and value 0 there.
 * - soft: tanh x.
 * - cubic: x - x^3 / 3 up to |x| = 1, flat at 2/3 beyond: third harmonic only, until it flattens.
 * - hard clip: x up to |x| = 1, flat at 1 beyond.
 * - asymmetric: tanh x above 0, tanh(2 x) / 2 below: the lower half saturates at half the level. Even and odd harmonics;
 *   smooth to the second derivative at 0, so quiet sound stays clean.
 * - fold: sin x, so that a wave beyond 1.57 turns back on itself, and again, up to three and a half turns; flat beyond.
 * - second harmonic: x + x^2 / 10 up to |x| = 1, with slopes as there and a tanh beyond: even harmonics without odd ones, until
 *   it saturates.
 * - uneven clip: x from -1/2 to 1, flat beyond.
 */
export const shapingCurves = {
  soft: tabulate(Math.tanh),
  cubic: tabulate((x) => (Math.abs(x) < 1 ? x - x ** 3 / 3 : (2 / 3) * Math.sign(x))),
  'hard clip': tabulate((x) => Math.max(-1, Math.min(1, x))),
  asymmetric: tabulate((x) => (x < 0 ? Math.tanh(2 * x) / 2 : Math.tanh(x))),
  fold: tabulate((x) => (Math.abs(x) < FOLDS_END ? Math.sin(x) : -Math.sign(x))),
  'second harmonic': tabulate(secondOf),
  'uneven clip': tabulate((x) => Math.max(-0.5, Math.min(1, x))),
} as const;

/** Peak of the sine whose level the compensation keeps: -12 dB below full scale. */
const REFERENCE_PEAK = 10 ** (-12 / 20);
// Half a turn from trough to crest: the other half passes the same values. Midpoints, so that the mean is the integral's.
const referenceSine = (points: number): Float64Array =>
  Float64Array.from({ length: points }, (_, i) => REFERENCE_PEAK * Math.sin(Math.PI * ((i + 0.5) / points - 0.5)));
const COARSE_SINE = referenceSine(32);
/** For the folded curve, which turns many times on the way. */
const FINE_SINE = referenceSine(512);
const REFERENCE_RMS = REFERENCE_PEAK / Math.SQRT2;
/** Where a bias holds the whole sine on a flat part of the curve, nothing comes out: no make-up beyond 48 dB. */
const LEAST_RMS = REFERENCE_RMS * 10 ** (-48 / 20);

/**
 * Linear gain that level compensation applies: with it a sine of -12 dBFS peak leaves curve(drive x + bias) with the rms that
 * it had, its direct component not counted.
 *
 * @param drive linear gain
 */
export const makeUp = (curve: ShapingCurve, drive: number, bias: number): number => {
  const sine = curve === shapingCurves.fold ? FINE_SINE : COARSE_SINE;
  const points = sine.length;
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < points; i++) {
    const y = valueAt(curve, drive * sine[i]! + bias);
    sum += y;
    squares += y * y;
  }
  return REFERENCE_RMS / Math.max(LEAST_RMS, Math.sqrt(Math.max(0, squares / points - (sum / points) ** 2)));
};
