import { CONTROL_FRAMES } from './processor.ts';

/** Time constant of parameter smoothing, seconds: short enough to feel immediate, long enough not to click. */
const SMOOTHING_SECONDS = 0.015;
/** A ramp closer to its target than this (linear gain) is set to it. */
const LANDING = 1e-7;

/**
 * A smoothed number: exponential approach sampled once a control block, linear in between.
 * A kernel reads `value` and adds `step` once a sample, then stores `value` back.
 */
export class Ramp {
  value: number;
  step = 0;
  private target: number;
  private next: number;
  private readonly rate: number;

  constructor(value: number, sampleRate: number, seconds = SMOOTHING_SECONDS) {
    this.value = this.target = this.next = value;
    this.rate = 1 - Math.exp(-CONTROL_FRAMES / (seconds * sampleRate));
  }

  set(target: number): void {
    this.target = target;
  }

  /** Instead of `control`: starts the next control block and moves linearly to `target` within it. */
  glide(target: number): void {
    this.value = this.next;
    this.target = this.next = target;
    this.step = (target - this.value) / CONTROL_FRAMES;
  }

  /** True when there is nothing left to move: `value` stays at the target. */
  get settled(): boolean {
    return this.step === 0 && this.value === this.target;
  }

  /** Value at the end of the current control block. */
  get end(): number {
    return this.next;
  }

  /** Starts the next control block from the exact end of the last one. */
  control(): void {
    this.value = this.next;
    const gap = this.target - this.value;
    this.next = Math.abs(gap) < LANDING ? this.target : this.value + gap * this.rate;
    this.step = (this.next - this.value) / CONTROL_FRAMES;
  }

  reset(): void {
    this.value = this.next = this.target;
    this.step = 0;
  }

  /** Multiplies frames start..end-1 of both sides; `position` frames of the control block are already done. */
  scale(left: Float64Array, right: Float64Array, start: number, end: number, position: number): void {
    const { value, step } = this;
    for (let i = start, k = position; i < end; i++, k++) {
      const gain = value + step * k;
      left[i]! *= gain;
      right[i]! *= gain;
    }
  }
}
