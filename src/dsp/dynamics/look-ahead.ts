import type { AdaptiveRelease } from './adaptive-release.ts';
import { MovingAverage } from '../core/moving-average.ts';
import { SlidingMaximum } from '../core/sliding-maximum.ts';

/**
 * A smooth envelope above the peaks of a signal: a sliding maximum, optionally released, and averaged over as
 * many samples as it was held. It begins to rise when a peak comes in and has reached at least that peak `samples` later,
 * one sample before and after included, so that a sound delayed by `samples` finds it in place.
 */
export class LookAhead {
  private readonly held: SlidingMaximum;
  private readonly mean: MovingAverage;

  constructor(
    samples: number,
    initial = 0,
    private readonly release: AdaptiveRelease | null = null,
  ) {
    this.held = new SlidingMaximum(samples + 2, initial);
    this.mean = new MovingAverage(samples, initial);
  }

  /** Replaces values[0..count-1] in place. */
  process(values: Float64Array, count: number): void {
    this.held.process(values, count);
    this.release?.process(values, count);
    this.mean.process(values, count);
  }

  reset(): void {
    this.held.reset();
    this.release?.reset();
    this.mean.reset();
  }
}
