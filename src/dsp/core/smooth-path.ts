import { CONTROL_FRAMES } from './processor.ts';

/**
 * A number that moves without corners: a uniform cubic B-spline over one point a control block. Value, speed and
 * acceleration are continuous, and it never leaves the range of its points. It follows them two blocks late.
 */
export class SmoothPath {
  /** The number at each frame of the control block. */
  readonly values = new Float64Array(CONTROL_FRAMES);
  private first = 0;
  private second = 0;
  private third = 0;

  /** True when it rests at 0 for the whole control block. */
  still = true;

  /** Starts a control block; `point` is where to go next. */
  next(point: number): void {
    const { values, first, second, third } = this;
    this.first = second;
    this.second = third;
    this.third = point;
    this.still = first === 0 && second === 0 && third === 0 && point === 0;
    const c0 = (first + 4 * second + third) / 6;
    const c1 = (third - first) / 2;
    const c2 = (first + third) / 2 - second;
    const c3 = (point - first) / 6 + (second - third) / 2;
    for (let i = 0; i < CONTROL_FRAMES; i++) {
      const x = i / CONTROL_FRAMES;
      values[i] = c0 + x * (c1 + x * (c2 + x * c3));
    }
  }

  /** Rests at `point` from here on. */
  jump(point: number): void {
    this.first = this.second = this.third = point;
  }
}
