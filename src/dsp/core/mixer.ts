import { type MixLaw, wetDryGains } from './wet-dry.ts';
import type { Part } from './parts.ts';
import { Ramp } from './ramp.ts';

/** The mix control of a processor, smoothed: 0 dry to 1 wet. */
export class Mixer implements Part {
  private readonly wet: Ramp;
  private readonly dry: Ramp;

  constructor(
    private readonly law: MixLaw,
    mix: number,
    sampleRate: number,
  ) {
    const { wet, dry } = wetDryGains({ wet: mix, law });
    this.wet = new Ramp(wet, sampleRate);
    this.dry = new Ramp(dry, sampleRate);
  }

  set(mix: number): void {
    const { wet, dry } = wetDryGains({ wet: mix, law: this.law });
    this.wet.set(wet);
    this.dry.set(dry);
  }

  control(): void {
    this.wet.control();
    this.dry.control();
  }

  /**
   * Mixes frames start..start+count-1 of both sides, in place, with the wet ones (their frames 0..count-1). `position`
   * frames of the control block are already done. At 0 it is a wire.
   */
  process(
    left: Float64Array,
    right: Float64Array,
    start: number,
    count: number,
    wetLeft: Float64Array,
    wetRight: Float64Array,
    position: number,
  ): void {
    const { value: wet, step: wetStep, settled } = this.wet;
    if (settled && wet === 0) return;
    if (this.law === 'linear') {
      // Computed from the wet gain, so that both always add up to 1.
      for (let i = 0; i < count; i++) {
        const share = wet + wetStep * (position + i);
        left[start + i]! += share * (wetLeft[i]! - left[start + i]!);
        right[start + i]! += share * (wetRight[i]! - right[start + i]!);
      }
      return;
    }
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
