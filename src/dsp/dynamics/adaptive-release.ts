import { smoothingFactor } from './gain-computer.ts';

/** How much slower the release is after long reduction than after a single peak. */
const SLOW = 10;
/** Reduction below this, nepers, has ended. */
const RELEASED = 1e-7;

/**
 * Release of a gain reduction whose peaks are already held: rises at once, falls gradually. After long reduction, as measured by an
 * average over SLOW times the release time, it falls as slowly as that average; a single peak above it
 * falls in the release time itself.
 */
export class AdaptiveRelease {
  private level = 0;
  private average = 0;
  private rate = 1;
  private averageRate = 1;
  private share = 1;

  constructor(private readonly sampleRate: number) {}

  /**
   * @param seconds time constant of the release
   * @param share how far the average counts: 0 not at all, 1 wholly
   */
  set(seconds: number, share: number): void {
    this.rate = smoothingFactor(seconds, this.sampleRate);
    this.averageRate = smoothingFactor(SLOW * seconds, this.sampleRate);
    this.share = share;
  }

  control(): void {
    if (this.level < RELEASED) this.level = 0;
    if (this.average < RELEASED) this.average = 0;
  }

  /** Replaces reductions[0..count-1] (0 or more) in place. */
  process(reductions: Float64Array, count: number): void {
    const { rate, averageRate, share } = this;
    let { level, average } = this;
    for (let i = 0; i < count; i++) {
      const held = reductions[i]!;
      average += averageRate * (held - average);
      level += rate * (share * average - level);
      if (held > level) level = held;
      reductions[i] = level;
    }
    this.level = level;
    this.average = average;
  }

  reset(): void {
    this.level = this.average = 0;
  }
}
