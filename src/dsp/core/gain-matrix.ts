/** Gains from a left and a right signal to a left and a right one, linear. */
export interface GainMatrix {
  readonly leftToLeft: number;
  readonly leftToRight: number;
  readonly rightToLeft: number;
  readonly rightToRight: number;
}

/** The same gain on both channels, without crosstalk. */
export const straight = (gain: number): GainMatrix => ({
  leftToLeft: gain,
  leftToRight: 0,
  rightToLeft: 0,
  rightToRight: gain,
});

/** A matrix times `gain`, linear. */
export const scaled = (
  { leftToLeft, leftToRight, rightToLeft, rightToRight }: GainMatrix,
  gain: number,
): GainMatrix => ({
  leftToLeft: gain * leftToLeft,
  leftToRight: gain * leftToRight,
  rightToLeft: gain * rightToLeft,
  rightToRight: gain * rightToRight,
});

/** Two matrices in series: the output of `first` goes into `second`. */
export const inTurn = (first: GainMatrix, second: GainMatrix): GainMatrix => ({
  leftToLeft: first.leftToLeft * second.leftToLeft + first.leftToRight * second.rightToLeft,
  leftToRight: first.leftToLeft * second.leftToRight + first.leftToRight * second.rightToRight,
  rightToLeft: first.rightToLeft * second.leftToLeft + first.rightToRight * second.rightToLeft,
  rightToRight: first.rightToLeft * second.leftToRight + first.rightToRight * second.rightToRight,
});
