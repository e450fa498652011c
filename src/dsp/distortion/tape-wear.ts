import { flushVanished, onePole } from '../filters/one-pole.ts';
import { Ramp } from '../core/ramp.ts';
import { shapingCurves, valueAt } from './shaping-curve.ts';

/** Pass band of one pass at full wear: corners (6 dB/oct each), Hz. */
export const WEAR_LOW_HZ = 60;
export const WEAR_HIGH_HZ = 5000;
/** Limit of the saturation of loud parts: 1 / this. */
const DRIVE = 2;

/**
 * One pass of a tape loop: loses highs and deep lows and saturates loud parts (tanh), in proportion to its share. Gain and
 * slope never exceed 1, so a loop that decays without it also does with it. Not oversampled: highs are removed before
 * the saturation, and aliasing stays small (for a 5 kHz sine of -12 dBFS: below -100 dB relative to it, up to 20 kHz).
 */
export class TapeWear {
  private readonly share: Ramp;
  private readonly low: number;
  private readonly high: number;
  /** Memories of the high and the low corner, left and right. */
  private readonly state = new Float64Array(4);

  /** @param share 0 (off: a wire) .. 1 */
  constructor(share: number, sampleRate: number) {
    this.share = new Ramp(share, sampleRate);
    this.low = onePole(WEAR_LOW_HZ, sampleRate);
    this.high = onePole(WEAR_HIGH_HZ, sampleRate);
  }

  set(share: number): void {
    this.share.set(share);
  }

  control(): void {
    this.share.control();
    if (this.off) this.state.fill(0);
    flushVanished(this.state);
  }

  /** Frames 0..count-1 in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    if (this.off) return;
    this.wear(left, 0, count, position);
    this.wear(right, 1, count, position);
  }

  clear(): void {
    this.state.fill(0);
  }

  reset(): void {
    this.share.reset();
    this.clear();
  }

  private get off(): boolean {
    return this.share.settled && this.share.value === 0;
  }

  private wear(samples: Float64Array, channel: 0 | 1, count: number, position: number): void {
    const { low, high, state } = this;
    const { value, step } = this.share;
    const curve = shapingCurves.soft;
    let highState = state[channel]!;
    let lowState = state[2 + channel]!;
    for (let i = 0; i < count; i++) {
      const share = value + step * (position + i);
      const x = samples[i]!;
      const highMove = high * (x - highState);
      const dull = highState + highMove;
      const lowMove = low * (dull - lowState);
      const worn = x + share * (dull - lowState - lowMove - x);
      samples[i] = worn + share * (valueAt(curve, DRIVE * worn) / DRIVE - worn);
      highState += 2 * highMove;
      lowState += 2 * lowMove;
    }
    state[channel] = highState;
    state[2 + channel] = lowState;
  }
}
