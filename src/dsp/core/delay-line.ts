/** A whole-sample delay of two channels, exact to the bit. Delay 0 is a wire. */
export class StereoDelay {
  private readonly left: Float64Array;
  private readonly right: Float64Array;
  private position = 0;

  constructor(readonly samples: number) {
    this.left = new Float64Array(samples);
    this.right = new Float64Array(samples);
  }

  /** Delays frames start..end-1 of both channels, from the sources into the targets (which may be the same arrays). */
  process(
    sourceLeft: Float64Array,
    sourceRight: Float64Array,
    targetLeft: Float64Array,
    targetRight: Float64Array,
    start: number,
    end: number,
  ): void {
    const { left, right, samples } = this;
    let position = this.position;
    for (let i = start; i < end; i++) {
      const inLeft = sourceLeft[i]!;
      const inRight = sourceRight[i]!;
      if (samples === 0) {
        targetLeft[i] = inLeft;
        targetRight[i] = inRight;
        continue;
      }
      targetLeft[i] = left[position]!;
      targetRight[i] = right[position]!;
      left[position] = inLeft;
      right[position] = inRight;
      position = position + 1 === samples ? 0 : position + 1;
    }
    this.position = position;
  }

  reset(): void {
    this.left.fill(0);
    this.right.fill(0);
    this.position = 0;
  }
}
