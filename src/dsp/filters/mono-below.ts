import { Crossover } from './crossover.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';

/** At this setting and below nothing is made mono, Hz. */
export const MONO_OFF = 20;

/**
 * Splits off the lows of a mid/side pair and keeps only their mid. Mid and side pass the same
 * crossover, so that their phases match, and the mono sum keeps its level at every frequency. Off, it is bypassed.
 */
export class MonoBelow {
  /** The mono lows of the frames split last. */
  readonly low = new Float64Array(CONTROL_FRAMES);
  private readonly crossover: Crossover;
  private readonly wet: Ramp;
  private readonly highMid = new Float64Array(CONTROL_FRAMES);
  private readonly highSide = new Float64Array(CONTROL_FRAMES);
  private readonly lowSide = new Float64Array(CONTROL_FRAMES);

  constructor(hz: number, sampleRate: number) {
    this.crossover = new Crossover(Math.max(hz, MONO_OFF), sampleRate);
    this.wet = new Ramp(hz > MONO_OFF ? 1 : 0, sampleRate);
  }

  /** True when it is a wire. */
  get idle(): boolean {
    return this.wet.value === 0 && this.wet.settled;
  }

  set(hz: number): void {
    this.wet.set(hz > MONO_OFF ? 1 : 0);
    if (hz > MONO_OFF) this.crossover.set(hz);
  }

  control(): void {
    const wasIdle = this.idle;
    this.wet.control();
    if (this.idle) return;
    if (wasIdle) this.crossover.reset();
    this.crossover.control();
  }

  /** Mid and side become the part above the corner, frames 0..count-1; the mono lows are left in `low`. */
  split(mid: Float64Array, side: Float64Array, count: number, position: number): void {
    const { low, highMid, highSide, lowSide } = this;
    if (this.idle) {
      low.fill(0, 0, count);
      return;
    }
    for (let i = 0; i < count; i++) {
      highMid[i] = mid[i]!;
      highSide[i] = side[i]!;
    }
    this.crossover.split(highMid, highSide, low, lowSide, count, position);
    const { value, step } = this.wet;
    for (let i = 0; i < count; i++) {
      const wet = value + step * (position + i);
      mid[i]! += wet * (highMid[i]! - mid[i]!);
      side[i]! += wet * (highSide[i]! - side[i]!);
      low[i]! *= wet;
    }
  }

  reset(): void {
    this.wet.reset();
    this.crossover.reset();
  }
}
