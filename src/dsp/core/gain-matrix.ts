/** Gains from a left and a right signal to a left and a right one, linear. */
export interface GainMatrix {
  readonly leftToLeft: number;
  readonly leftToRight: number;
  readonly rightToLeft: number;
  readonly rightToRight: number;
}

/** The same gain on both channels, nothing crossing over. */
export const straight = (gain: number): GainMatrix => ({
  leftToLeft: gain,
  leftToRight: 0,
  rightToLeft: 0,
  rightToRight: gain,
});

/** Two matrices in series: the output of `first` goes into `second`. */
export const inTurn = (first: GainMatrix, second: GainMatrix): GainMatrix => ({
  leftToLeft: first.leftToLeft * second.leftToLeft + first.leftToRight * second.rightToLeft,
  leftToRight: first.leftToLeft * second.leftToRight + first.leftToRight * second.rightToRight,
  rightToLeft: first.rightToLeft * second.leftToLeft + first.rightToRight * second.rightToLeft,
  rightToRight: first.rightToLeft * second.leftToRight + first.rightToRight * second.rightToRight,
});
