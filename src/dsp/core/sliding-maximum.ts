/**
 * Largest of the last `length` values of a signal, sample by sample; before the first one stands `initial`. Values that can
 * no longer become the largest are dropped, so that each is stored and dropped once (Lemire 2006).
 */
export class SlidingMaximum {
  /** Values that may still become the largest, falling from the oldest to the newest, and when they came. */
  private readonly values: Float64Array;
  private readonly times: Float64Array;
  private readonly mask: number;
  private oldest = 0;
  private next = 0;
  private time = 0;

  constructor(
    private readonly length: number,
    private readonly initial = 0,
  ) {
    const capacity = 2 ** Math.ceil(Math.log2(length + 1));
    this.values = new Float64Array(capacity);
    this.times = new Float64Array(capacity);
    this.mask = capacity - 1;
    this.reset();
  }

  /** Replaces samples[0..count-1] by the maxima that end with them. */
  process(samples: Float64Array, count: number): void {
    const { values, times, mask, length } = this;
    let { oldest, next, time } = this;
    for (let i = 0; i < count; i++, time++) {
      const value = samples[i]!;
      while (next !== oldest && values[(next - 1) & mask]! <= value) next--;
      values[next & mask] = value;
      times[next & mask] = time;
      next++;
      if (times[oldest & mask]! <= time - length) oldest++;
      samples[i] = values[oldest & mask]!;
    }
    // Restarted from 0 from time to time, so that the numbers stay small and exact for songs of any length.
    this.oldest = oldest & mask;
    this.next = this.oldest + next - oldest;
    this.time = time;
  }

  reset(): void {
    this.oldest = 0;
    this.next = 1;
    this.values[0] = this.initial;
    this.times[0] = -1;
    this.time = 0;
  }
}
