import type { Ramp } from '../core/ramp.ts';

/**
 * Schroeder's all-pass (1962): y = v' - g v with v = x + g v', where v' is v from `length` samples ago. It passes all
 * frequencies alike and turns one echo into many.
 */
export class AllPass {
  private readonly memory: Float64Array;
  private at = 0;

  constructor(length: number) {
    this.memory = new Float64Array(length);
  }

  /** Frames 0..count-1 in place; `gain` is g, `keep` what is left of v' after its delay; `position` frames of the control block are already done. */
  process(samples: Float64Array, count: number, gain: Ramp, keep: Ramp, position: number): void {
    const { memory } = this;
    const { value, step } = gain;
    const { value: kept, step: keptStep } = keep;
    let at = this.at;
    for (let i = 0; i < count; i++) {
      const g = value + step * (position + i);
      const delayed = (kept + keptStep * (position + i)) * memory[at]!;
      const stored = samples[i]! + g * delayed;
      samples[i] = delayed - g * stored;
      memory[at] = stored;
      at = at + 1 === memory.length ? 0 : at + 1;
    }
    this.at = at;
  }

  clear(): void {
    this.memory.fill(0);
  }
}
