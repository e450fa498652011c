import type { Coefficients } from './biquad.ts';
import { type Branch, type Complex, insideOf, placeOf, POLES, squareAt, ZEROS } from './frequency-map.ts';

/**
 * Digital filters with the magnitude of their analogue prototype up to the top of the band, where a bilinear transform
 * cramps it. The aim is that of Vicanek 2016 (matched second-order filters); the way is another one: the prototype's |H|^2
 * is put on the rational map of `frequency-map.ts` and split again into sections of least phase. Every zero and pole of
 * the prototype becomes two, so that a prototype of second order runs as two sections: branch 0 is the filter itself,
 * branch 1 a gentle correction of its top. A boost and the same cut swap zeros and poles and are a wire together.
 */
export type MatchedShape =
  | 'bell'
  | 'low shelf'
  | 'high shelf'
  | 'low cut'
  | 'high cut'
  | 'tilt'
  | 'band-pass'
  | 'notch';

const place: Complex = { re: 0, im: 0 };
const inside: Complex = { re: 0, im: 0 };

/** 1 + a1 / z + a2 / z^2, written over by each design. */
interface Quadratic {
  a1: number;
  a2: number;
}
const zeros: Quadratic = { a1: 0, a2: 0 };
const poles: Quadratic = { a1: 0, a2: 0 };

/** z of a real u: 1 at 0, inside the unit circle elsewhere. */
const realZ = (u: number): number => {
  if (u === 0) return 1;
  insideOf(inside, u, 0);
  return inside.re;
};

/** z of zeros at frequency 0 and at infinity, by branch. */
const LOW_END = [realZ(ZEROS[0]), realZ(ZEROS[1])] as const;
const HIGH_END = [realZ(POLES[0]), realZ(POLES[1])] as const;

const two = (into: Quadratic, z: number, other: number): void => {
  into.a1 = -(z + other);
  into.a2 = z * other;
};

/** z on one branch of the real root s = -w, w^2 = square. */
const ofReal = (square: number, branch: Branch): number => {
  placeOf(place, -square, 0, branch);
  return realZ(place.re);
};

/** Roots of s^2 + (w / q) s + w^2, w^2 = square, on one branch. */
const pair = (into: Quadratic, square: number, q: number, branch: Branch): void => {
  if (q > 0.5) {
    const bend = 1 / (2 * q * q);
    placeOf(place, square * (1 - bend), square * Math.sqrt(bend * (2 - bend)), branch);
    insideOf(inside, place.re, place.im);
    into.a1 = -2 * inside.re;
    into.a2 = inside.re * inside.re + inside.im * inside.im;
  } else {
    const apart = 1 / (2 * q) + Math.sqrt(1 / (4 * q * q) - 1);
    two(into, ofReal(square * apart * apart, branch), ofReal(square / (apart * apart), branch));
  }
};

/** Roots of s^2 + w^2: on the unit circle at `angle`, and far from it on the other branch. */
const undamped = (into: Quadratic, square: number, angle: number, branch: Branch): void => {
  if (branch === 0) {
    into.a1 = -2 * Math.cos(angle);
    into.a2 = 1;
  } else {
    placeOf(place, square, 0, branch);
    const z = realZ(place.re);
    two(into, z, z);
  }
};

const sizeAt = ({ a1, a2 }: Quadratic, angle: number): number => {
  const re = (1 + a2) * Math.cos(angle) + a1;
  const im = (1 - a2) * Math.sin(angle);
  return Math.sqrt(re * re + im * im);
};

/** Puts zeros over poles, with this gain at `angle`. */
const store = (into: Coefficients, gain: number, angle: number): void => {
  // At frequency 0 the sums lose nothing to rounding.
  const scale =
    angle === 0
      ? (gain * (1 + poles.a1 + poles.a2)) / (1 + zeros.a1 + zeros.a2)
      : (gain * sizeAt(poles, angle)) / sizeAt(zeros, angle);
  into[0] = scale;
  into[1] = scale * zeros.a1;
  into[2] = scale * zeros.a2;
  into[3] = poles.a1;
  into[4] = poles.a2;
};

/** Section of one branch of a second-order filter around `angle`; shapes, gain and q as in the cookbook's prototypes. */
export const designMatched = (
  into: Coefficients,
  shape: MatchedShape,
  branch: Branch,
  angle: number,
  gainDb: number,
  q: number,
): void => {
  const square = squareAt(Math.sin(angle / 2) ** 2);
  const a = 10 ** (gainDb / 40);
  const only = (gain: number): number => (branch === 0 ? gain : 1);
  switch (shape) {
    case 'bell':
      pair(zeros, square, q / a, branch);
      pair(poles, square, q * a, branch);
      return store(into, 1, 0);
    case 'low shelf':
      pair(zeros, square * a, q, branch);
      pair(poles, square / a, q, branch);
      return store(into, only(a * a), 0);
    case 'high shelf':
    case 'tilt':
      pair(zeros, square / a, q, branch);
      pair(poles, square * a, q, branch);
      return store(into, only(shape === 'tilt' ? 1 / a : 1), 0);
    default:
      pair(poles, square, q, branch);
  }
  switch (shape) {
    case 'low cut':
      two(zeros, LOW_END[branch], LOW_END[branch]);
      return store(into, only(q), angle);
    case 'high cut':
      two(zeros, HIGH_END[branch], HIGH_END[branch]);
      return store(into, 1, 0);
    case 'band-pass':
      two(zeros, LOW_END[branch], HIGH_END[branch]);
      return store(into, 1, angle);
    case 'notch':
      undamped(zeros, square, angle, branch);
      return store(into, 1, 0);
  }
};

/** Cut of first order, 6 dB an octave: one section for both branches. */
export const designMatchedCut1 = (into: Coefficients, low: boolean, angle: number): void => {
  const square = squareAt(Math.sin(angle / 2) ** 2);
  const ends = low ? LOW_END : HIGH_END;
  two(zeros, ends[0], ends[1]);
  two(poles, ofReal(square, 0), ofReal(square, 1));
  if (low) store(into, Math.SQRT1_2, angle);
  else store(into, 1, 0);
};
