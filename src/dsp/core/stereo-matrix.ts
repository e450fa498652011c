import { Ramp } from './ramp.ts';

/** Gains from two channels to two channels, smoothed. */
export class StereoMatrix {
  private readonly leftToLeft: Ramp;
  private readonly rightToLeft: Ramp;
  private readonly leftToRight: Ramp;
  private readonly rightToRight: Ramp;

  constructor(sampleRate: number) {
    this.leftToLeft = new Ramp(0, sampleRate);
    this.rightToLeft = new Ramp(0, sampleRate);
    this.leftToRight = new Ramp(0, sampleRate);
    this.rightToRight = new Ramp(0, sampleRate);
  }

  /** Linear gains: into the left channel from the left and from the right one, then into the right channel. */
  set(leftToLeft: number, rightToLeft: number, leftToRight: number, rightToRight: number): void {
    this.leftToLeft.set(leftToLeft);
    this.rightToLeft.set(rightToLeft);
    this.leftToRight.set(leftToRight);
    this.rightToRight.set(rightToRight);
  }

  control(): void {
    this.leftToLeft.control();
    this.rightToLeft.control();
    this.leftToRight.control();
    this.rightToRight.control();
  }

  /**
   * Adds `count` frames of the source, from frame `start` on, to frames 0..count-1 of the target. The two must not be the
   * same arrays. `position` frames of the control block are already done.
   */
  add(
    sourceLeft: Float64Array,
    sourceRight: Float64Array,
    start: number,
    targetLeft: Float64Array,
    targetRight: Float64Array,
    count: number,
    position: number,
  ): void {
    const { value: ll, step: llStep } = this.leftToLeft;
    const { value: rl, step: rlStep } = this.rightToLeft;
    const { value: lr, step: lrStep } = this.leftToRight;
    const { value: rr, step: rrStep } = this.rightToRight;
    for (let i = 0; i < count; i++) {
      const k = position + i;
      const left = sourceLeft[start + i]!;
      const right = sourceRight[start + i]!;
      targetLeft[i]! += (ll + llStep * k) * left + (rl + rlStep * k) * right;
      targetRight[i]! += (lr + lrStep * k) * left + (rr + rrStep * k) * right;
    }
  }

  reset(): void {
    this.leftToLeft.reset();
    this.rightToLeft.reset();
    this.leftToRight.reset();
    this.rightToRight.reset();
  }
}
