import type { Part } from './parts.ts';
import { Ramp } from './ramp.ts';
import { wetDryGains } from './wet-dry.ts';

/** The mix control of a processor, smoothed: 0 dry to 1 wet. */
export interface Mixer extends Part {
  set(mix: number): void;
  /**
   * Mixes frames start..start+count-1 of both sides, in place, with the wet ones (their frames 0..count-1). `position`
   * frames of the control block are already done.
   */
  process(
    left: Float64Array,
    right: Float64Array,
    start: number,
    count: number,
    wetLeft: Float64Array,
    wetRight: Float64Array,
    position: number,
  ): void;
}

/** Linear gains: alike sounds keep their level. At 0 it is a wire. */
export class LinearMixer implements Mixer {
  private readonly share: Ramp;

  constructor(mix: number, sampleRate: number) {
    this.share = new Ramp(mix, sampleRate);
  }

  set(mix: number): void {
    this.share.set(mix);
  }

  control(): void {
    this.share.control();
  }

  process(
    left: Float64Array,
    right: Float64Array,
    start: number,
    count: number,
    wetLeft: Float64Array,
    wetRight: Float64Array,
    position: number,
  ): void {
    const { value, step, settled } = this.share;
    if (settled && value === 0) return;
    for (let i = 0; i < count; i++) {
      const share = value + step * (position + i);
      left[start + i]! += share * (wetLeft[i]! - left[start + i]!);
      right[start + i]! += share * (wetRight[i]! - right[start + i]!);
    }
  }

  reset(): void {
    this.share.reset();
  }
}

/** Gains by equal power: sounds that have nothing in common keep their level. */
export class EqualPowerMixer implements Mixer {
  private readonly wet: Ramp;
  private readonly dry: Ramp;

  constructor(mix: number, sampleRate: number) {
    const { wet, dry } = wetDryGains({ wet: mix, law: 'equal power' });
    this.wet = new Ramp(wet, sampleRate);
    this.dry = new Ramp(dry, sampleRate);
  }

  set(mix: number): void {
    const { wet, dry } = wetDryGains({ wet: mix, law: 'equal power' });
    this.wet.set(wet);
    this.dry.set(dry);
  }

  control(): void {
    this.wet.control();
    this.dry.control();
  }

  process(
    left: Float64Array,
    right: Float64Array,
    start: number,
    count: number,
    wetLeft: Float64Array,
    wetRight: Float64Array,
    position: number,
  ): void {
    const { value: wet, step: wetStep } = this.wet;
    const { value: dry, step: dryStep } = this.dry;
    for (let i = 0; i < count; i++) {
      const wetNow = wet + wetStep * (position + i);
      const dryNow = dry + dryStep * (position + i);
      left[start + i] = dryNow * left[start + i]! + wetNow * wetLeft[i]!;
      right[start + i] = dryNow * right[start + i]! + wetNow * wetRight[i]!;
    }
  }

  reset(): void {
    this.wet.reset();
    this.dry.reset();
  }
}
