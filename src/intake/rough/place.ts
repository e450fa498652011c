import { panMatrix } from '../../dsp/core/pan.ts';
import type { Model } from './model.ts';
import type { Source, Sources } from './sources.ts';

/** Level and place of a track in the rough. */
export interface Place {
  /** Linear. */
  readonly gain: number;
  /** -1 left .. +1 right. */
  readonly pan: number;
  /**
   * How it was placed: `pan` as this program does it (one channel: equal power with the middle at 0 dB; two: the far side
   * folded in), `balance` for two channels that were only made louder and softer, by the same equal-power law.
   */
  readonly law: 'pan' | 'balance';
  /** Its left channel is on the right of the rough and its right on the left: gain and pan are those of it with its channels swapped. */
  readonly isSwapped: boolean;
}

/** Gains from left and right of a track to left and right of the rough. */
interface Matrix {
  readonly leftToLeft: number;
  readonly leftToRight: number;
  readonly rightToLeft: number;
  readonly rightToRight: number;
}

/** Mean powers of a track's two channels, and of their product. */
interface Powers {
  readonly left: number;
  readonly right: number;
  readonly cross: number;
}

const powersOf = (left: Float32Array, right: Float32Array): Powers => {
  const sums = { left: 0, right: 0, cross: 0 };
  for (let n = 0; n < left.length; n++) {
    sums.left += left[n]! ** 2;
    sums.right += right[n]! ** 2;
    sums.cross += left[n]! * right[n]!;
  }
  return sums;
};

/** Inner product of what two matrices make of the same sound. */
const product = (a: Matrix, b: Matrix, { left, right, cross }: Powers): number =>
  a.leftToLeft * b.leftToLeft * left +
  a.rightToLeft * b.rightToLeft * right +
  (a.leftToLeft * b.rightToLeft + a.rightToLeft * b.leftToLeft) * cross +
  a.leftToRight * b.leftToRight * left +
  a.rightToRight * b.rightToRight * right +
  (a.leftToRight * b.rightToRight + a.rightToRight * b.leftToRight) * cross;

/** Pans that are tried, from left to right; half a percent apart. */
const STEPS = 400;

/** Equal power, 1 in the middle: the gain of the left, with the right at the same of -pan. */
const leftGain = (pan: number): number => Math.SQRT2 * Math.cos(((pan + 1) * Math.PI) / 4);

/** The gain and pan by which the law comes nearest, and what is left of the matrix (a part of its power). */
const nearest = (matrix: Matrix, powers: Powers, law: (pan: number) => Matrix) => {
  const whole = product(matrix, matrix, powers);
  const at = (pan: number): { pan: number; gain: number; left: number } => {
    const made = law(pan);
    const shared = product(matrix, made, powers);
    const gain = shared / product(made, made, powers);
    return { pan, gain, left: 1 - (shared * gain) / whole };
  };
  let best = at(0);
  for (let n = 0; n <= STEPS; n++) {
    const tried = at((2 * n) / STEPS - 1);
    if (tried.left < best.left - 1e-12) best = tried;
  }
  for (let step = 1 / STEPS; step > 1e-5; step /= 2) {
    for (const pan of [best.pan - step, best.pan + step]) {
      const tried = pan < -1 || pan > 1 ? best : at(pan);
      if (tried.left < best.left) best = tried;
    }
  }
  return best;
};

/** The place of one channel, or of two that count as one, from its gains in both sides. */
export const placeOfGains = (left: number, right: number): Place => ({
  gain: Math.sqrt((left * left + right * right) / 2),
  pan: left === 0 && right === 0 ? 0 : (4 / Math.PI) * Math.atan2(right, left) - 1,
  ...{ law: 'pan', isSwapped: false },
});

/** Swapped channels leave this part less of what is in the rough than channels as they are. */
const CLEARLY_SWAPPED = 0.2;
/** And each of them is heard on its other side, at this part of what is strongest or more: of one alone that says little. */
const BOTH_CROSS = 0.3;

/** Whether both channels are heard on their other side. */
const bothCross = (matrix: Matrix, { left, right }: Powers): boolean => {
  const [crossLeft, crossRight] = [matrix.leftToRight * Math.sqrt(left), matrix.rightToLeft * Math.sqrt(right)];
  const strongest = Math.max(
    crossLeft,
    crossRight,
    matrix.leftToLeft * Math.sqrt(left),
    matrix.rightToRight * Math.sqrt(right),
  );
  return Math.min(crossLeft, crossRight) > BOTH_CROSS * strongest;
};

/** The same with the channels of the track swapped. */
const swapped = ({ leftToLeft, leftToRight, rightToLeft, rightToRight }: Matrix): Matrix => ({
  leftToLeft: rightToLeft,
  leftToRight: rightToRight,
  rightToLeft: leftToLeft,
  rightToRight: leftToRight,
});

const placeOfMatrix = (matrix: Matrix, powers: Powers): Place => {
  const asItIs = placeUnswapped(matrix, powers);
  const other = placeUnswapped(swapped(matrix), { left: powers.right, right: powers.left, cross: powers.cross });
  return bothCross(matrix, powers) && other.left < asItIs.left - CLEARLY_SWAPPED
    ? { ...other.place, isSwapped: true }
    : asItIs.place;
};

/** The place by the law that comes nearest, and the part of the power that it leaves. */
const placeUnswapped = (matrix: Matrix, powers: Powers): { readonly place: Place; readonly left: number } => {
  const folded = nearest(matrix, powers, (pan) => panMatrix(pan, 2, 1));
  const { leftToLeft: left, rightToRight: right } = matrix;
  const balanced = placeOfGains(left, right);
  const onlyBalance = (pan: number): Matrix => ({
    leftToLeft: leftGain(pan),
    rightToRight: leftGain(-pan),
    leftToRight: 0,
    rightToLeft: 0,
  });
  const apart = nearest(matrix, powers, onlyBalance);
  if (Math.abs(balanced.pan) < 0.005 || folded.left <= apart.left)
    return { place: { gain: folded.gain, pan: folded.pan, law: 'pan', isSwapped: false }, left: folded.left };
  return { place: { ...balanced, law: 'balance' }, left: apart.left };
};

/**
 * Where track `track` stands; null where it is not in the rough.
 * @param isMono the rough is the same on both sides: it tells levels and no places, so every track stands in the middle, and one of
 * two channels is as loud as its fold
 */
export const placeOf = (
  { all }: Sources,
  { gains }: Pick<Model, 'gains'>,
  track: number,
  isMono: boolean,
): Place | null => {
  const own = all.flatMap((source, i): [Source, number][] => (source.track === track ? [[source, i]] : []));
  if (own.every(([, i]) => gains[0][i] === 0 && gains[1][i] === 0)) return null;
  const [one, other] = own as [[Source, number], [Source, number]?];
  if (!other) return placeOfGains(gains[0][one[1]]!, gains[1][one[1]]!);
  if (isMono) return { gain: gains[0][one[1]]! + gains[0][other[1]]!, pan: 0, law: 'pan', isSwapped: false };
  const matrix: Matrix = {
    leftToLeft: gains[0][one[1]]!,
    leftToRight: gains[1][one[1]]!,
    rightToLeft: gains[0][other[1]]!,
    rightToRight: gains[1][other[1]]!,
  };
  return placeOfMatrix(matrix, powersOf(one[0].channel, other[0].channel));
};
