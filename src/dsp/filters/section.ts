import { COEFFICIENTS, type Coefficients } from './biquad.ts';
import { flushVanished } from './one-pole.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';

/** One running second-order section for two channels, transposed direct form II in double precision. */
export class Section {
  /** In force at the start of the control block. */
  readonly coefficients: Coefficients = new Float64Array(COEFFICIENTS);
  /** What each coefficient gains a sample; 0 while nothing moves. */
  readonly steps: Coefficients = new Float64Array(COEFFICIENTS);
  /** Two memories a channel: left, left, right, right. */
  readonly state = new Float64Array(4);
  private readonly next: Coefficients = new Float64Array(COEFFICIENTS);

  /** Sets these coefficients at once. */
  jump(to: Coefficients): void {
    this.coefficients.set(to);
    this.next.set(to);
    this.steps.fill(0);
  }

  /**
   * Moves to these coefficients over the control block that starts now. A straight line between two stable sections
   * stays stable (the region of stable a1, a2 is a triangle), and there are no audible steps.
   */
  glide(to: Coefficients): void {
    const { coefficients, steps, next } = this;
    for (let i = 0; i < COEFFICIENTS; i++) {
      coefficients[i] = next[i]!;
      next[i] = to[i]!;
      steps[i] = (next[i]! - coefficients[i]!) / CONTROL_FRAMES;
    }
  }

  /** Ends the glide at its target. */
  settle(): void {
    this.coefficients.set(this.next);
    this.steps.fill(0);
  }

  flush(): void {
    flushVanished(this.state);
  }

  clear(): void {
    this.state.fill(0);
  }
}

/** Runs one steady section over both channels, frames start..end-1, in place. */
export const runStereo = (
  { coefficients, state }: Section,
  left: Float64Array,
  right: Float64Array,
  start: number,
  end: number,
): void => {
  const b0 = coefficients[0]!;
  const b1 = coefficients[1]!;
  const b2 = coefficients[2]!;
  const a1 = coefficients[3]!;
  const a2 = coefficients[4]!;
  let l1 = state[0]!;
  let l2 = state[1]!;
  let r1 = state[2]!;
  let r2 = state[3]!;
  for (let i = start; i < end; i++) {
    const xl = left[i]!;
    const xr = right[i]!;
    const yl = b0 * xl + l1;
    const yr = b0 * xr + r1;
    l1 = b1 * xl - a1 * yl + l2;
    r1 = b1 * xr - a1 * yr + r2;
    l2 = b2 * xl - a2 * yl;
    r2 = b2 * xr - a2 * yr;
    left[i] = yl;
    right[i] = yr;
  }
  state[0] = l1;
  state[1] = l2;
  state[2] = r1;
  state[3] = r2;
};

/** Runs two steady sections in one pass: the same operations as `runStereo` twice, the same bits, less memory traffic. */
export const runStereoPair = (
  first: Section,
  second: Section,
  left: Float64Array,
  right: Float64Array,
  start: number,
  end: number,
): void => {
  const { coefficients: c, state: s } = first;
  const { coefficients: d, state: t } = second;
  const [b0, b1, b2, a1, a2] = [c[0]!, c[1]!, c[2]!, c[3]!, c[4]!];
  const [d0, d1, d2, e1, e2] = [d[0]!, d[1]!, d[2]!, d[3]!, d[4]!];
  let [l1, l2, r1, r2] = [s[0]!, s[1]!, s[2]!, s[3]!];
  let [l3, l4, r3, r4] = [t[0]!, t[1]!, t[2]!, t[3]!];
  for (let i = start; i < end; i++) {
    const xl = left[i]!;
    const xr = right[i]!;
    const yl = b0 * xl + l1;
    const yr = b0 * xr + r1;
    l1 = b1 * xl - a1 * yl + l2;
    r1 = b1 * xr - a1 * yr + r2;
    l2 = b2 * xl - a2 * yl;
    r2 = b2 * xr - a2 * yr;
    const zl = d0 * yl + l3;
    const zr = d0 * yr + r3;
    l3 = d1 * yl - e1 * zl + l4;
    r3 = d1 * yr - e1 * zr + r4;
    l4 = d2 * yl - e2 * zl;
    r4 = d2 * yr - e2 * zr;
    left[i] = zl;
    right[i] = zr;
  }
  [s[0], s[1], s[2], s[3]] = [l1, l2, r1, r2];
  [t[0], t[1], t[2], t[3]] = [l3, l4, r3, r4];
};

/** Which memories of a section a one-channel run uses. */
export type Side = 'left' | 'right';

/**
 * Runs one section over one channel in place; its coefficients may glide. `position` is the number of frames of the
 * control block already done: the line is evaluated from it, so that the result does not depend on how a block is cut.
 */
export const runOne = (
  { coefficients, steps, state }: Section,
  side: Side,
  samples: Float64Array,
  start: number,
  end: number,
  position: number,
): void => {
  const [b0, b1, b2, a1, a2] = [
    coefficients[0]!,
    coefficients[1]!,
    coefficients[2]!,
    coefficients[3]!,
    coefficients[4]!,
  ];
  const [u0, u1, u2, v1, v2] = [steps[0]!, steps[1]!, steps[2]!, steps[3]!, steps[4]!];
  const memory = side === 'left' ? 0 : 2;
  let s1 = state[memory]!;
  let s2 = state[memory + 1]!;
  for (let i = start, k = position; i < end; i++, k++) {
    const x = samples[i]!;
    const y = (b0 + u0 * k) * x + s1;
    s1 = (b1 + u1 * k) * x - (a1 + v1 * k) * y + s2;
    s2 = (b2 + u2 * k) * x - (a2 + v2 * k) * y;
    samples[i] = y;
  }
  state[memory] = s1;
  state[memory + 1] = s2;
};
