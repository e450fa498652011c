/** Steps of one unit. Sums of whole steps are exact in double precision, so that they never drift and come back to 0. */
const STEPS = 2 ** 22;

/** One running mean times its length. */
class RunningSum {
  private readonly memory: Float64Array;
  private at = 0;
  private sum = 0;

  constructor(readonly length: number) {
    this.memory = new Float64Array(length);
  }

  process(samples: Float64Array, count: number): void {
    const { memory } = this;
    let { at, sum } = this;
    for (let i = 0; i < count; i++) {
      sum += samples[i]! - memory[at]!;
      memory[at] = samples[i]!;
      samples[i] = sum;
      at = at + 1 === memory.length ? 0 : at + 1;
    }
    this.at = at;
    this.sum = sum;
  }

  fill(value: number): void {
    this.memory.fill(value);
    this.sum = value * this.memory.length;
  }
}

/**
 * Weighted mean of the last `length` values: two running means in turn, so that the weights form a triangle and the
 * output of a step is smooth in value and slope. Values are rounded up to whole steps of 2^-22 first; what is steady
 * comes out as exactly that. Exact for values below 2^31 / (length / 2)^2, so up to 500 at length 4096.
 */
export class MovingAverage {
  private readonly first: RunningSum;
  private readonly second: RunningSum;
  private readonly whole: number;

  /** @param length 1 or more; 1 is a wire */
  constructor(
    length: number,
    private readonly initial = 0,
  ) {
    const half = Math.ceil((length + 1) / 2);
    this.first = new RunningSum(half);
    this.second = new RunningSum(length + 1 - half);
    this.whole = STEPS * half * (length + 1 - half);
    this.reset();
  }

  /** Replaces samples[0..count-1] by the means that end with them. */
  process(samples: Float64Array, count: number): void {
    const { whole } = this;
    for (let i = 0; i < count; i++) samples[i] = Math.ceil(samples[i]! * STEPS);
    this.first.process(samples, count);
    this.second.process(samples, count);
    for (let i = 0; i < count; i++) samples[i]! /= whole;
  }

  reset(): void {
    const steps = Math.ceil(this.initial * STEPS);
    this.first.fill(steps);
    this.second.fill(steps * this.first.length);
  }
}
