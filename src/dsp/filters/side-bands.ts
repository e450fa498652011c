import { Crossover, lowPartGain } from './crossover.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';

/** Gains of the side signal in three bands, linear, and the two corners between them, Hz. */
export interface SideBandSettings {
  readonly low: number;
  readonly mid: number;
  readonly high: number;
  readonly lowHz: number;
  readonly highHz: number;
}

/** True when the bands differ, so that the crossovers are needed. */
export const isBanded = ({ low, mid, high }: SideBandSettings): boolean => low !== mid || mid !== high;

/** Linear gain of the side at `hz`, from the same crossovers as the kernel's. */
export const sideGainAt = (settings: SideBandSettings, hz: number, sampleRate: number): number => {
  const { low, mid, high, lowHz, highHz } = settings;
  const below = lowPartGain(lowHz, hz, sampleRate);
  const middle = lowPartGain(highHz, hz, sampleRate);
  return below * low + (1 - below) * (middle * mid + (1 - middle) * high);
};

const buffer = (): Float64Array => new Float64Array(CONTROL_FRAMES);

/**
 * Scales the side of a mid/side pair in three bands. Mid passes the same crossovers with equal gains, so that the phases of the two
 * match. With three equal gains the crossovers fade out and are bypassed.
 */
export class SideBands {
  private readonly low: Ramp;
  private readonly mid: Ramp;
  private readonly high: Ramp;
  private readonly wet: Ramp;
  private readonly lower: Crossover;
  private readonly upper: Crossover;
  private readonly lows = [buffer(), buffer()] as const;
  private readonly mids = [buffer(), buffer()] as const;
  private readonly highs = [buffer(), buffer()] as const;

  constructor(settings: SideBandSettings, sampleRate: number) {
    this.low = new Ramp(settings.low, sampleRate);
    this.mid = new Ramp(settings.mid, sampleRate);
    this.high = new Ramp(settings.high, sampleRate);
    this.wet = new Ramp(isBanded(settings) ? 1 : 0, sampleRate);
    this.lower = new Crossover(settings.lowHz, sampleRate);
    this.upper = new Crossover(settings.highHz, sampleRate);
  }

  /** True when it is a wire. */
  get idle(): boolean {
    return this.flat && this.mid.settled && this.mid.value === 1;
  }

  set(settings: SideBandSettings): void {
    this.low.set(settings.low);
    this.mid.set(settings.mid);
    this.high.set(settings.high);
    this.lower.set(settings.lowHz);
    this.upper.set(settings.highHz);
    this.wet.set(isBanded(settings) ? 1 : 0);
  }

  control(): void {
    const wasFlat = this.flat;
    this.low.control();
    this.mid.control();
    this.high.control();
    this.wet.control();
    if (this.flat) return;
    if (wasFlat) {
      this.lower.reset();
      this.upper.reset();
    }
    this.lower.control();
    this.upper.control();
  }

  /** Frames 0..count-1 of both in place; `position` frames of the control block are already done. */
  process(mid: Float64Array, side: Float64Array, count: number, position: number): void {
    if (!this.flat) this.split(mid, side, count, position);
    const { lows, mids, highs, flat } = this;
    const { value: wet, step: wetStep } = this.wet;
    const { value: low, step: lowStep } = this.low;
    const { value: middle, step: middleStep } = this.mid;
    const { value: high, step: highStep } = this.high;
    for (let i = 0; i < count; i++) {
      const k = position + i;
      side[i]! *= middle + middleStep * k;
      if (flat) continue;
      const share = wet + wetStep * k;
      const bandedMid = lows[0][i]! + mids[0][i]! + highs[0][i]!;
      const bandedSide =
        (low + lowStep * k) * lows[1][i]! +
        (middle + middleStep * k) * mids[1][i]! +
        (high + highStep * k) * highs[1][i]!;
      mid[i]! += share * (bandedMid - mid[i]!);
      side[i]! += share * (bandedSide - side[i]!);
    }
  }

  reset(): void {
    for (const ramp of [this.low, this.mid, this.high, this.wet]) ramp.reset();
    this.lower.reset();
    this.upper.reset();
  }

  /** True when the crossovers are bypassed. */
  private get flat(): boolean {
    return this.wet.value === 0 && this.wet.settled;
  }

  private split(mid: Float64Array, side: Float64Array, count: number, position: number): void {
    const { lows, mids, highs, lower, upper } = this;
    for (let i = 0; i < count; i++) {
      highs[0][i] = mid[i]!;
      highs[1][i] = side[i]!;
    }
    lower.split(highs[0], highs[1], lows[0], lows[1], count, position);
    upper.align(lows[0], lows[1], count, position);
    upper.split(highs[0], highs[1], mids[0], mids[1], count, position);
  }
}
