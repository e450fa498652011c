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
    if (gain.settled && keep.settled) this.processSteady(samples, count, gain.value, keep.value);
    else this.processMoving(samples, count, gain, keep, position);
  }

  clear(): void {
    this.memory.fill(0);
  }

  private processMoving(samples: Float64Array, count: number, gain: Ramp, keep: Ramp, position: number): void {
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

  /** The same, to the bit, in pieces that end where the memory does: it takes half the time. */
  private processSteady(samples: Float64Array, count: number, g: number, keep: number): void {
    const { memory } = this;
    for (let done = 0; done < count;) {
      const { at } = this;
      const piece = Math.min(count - done, memory.length - at);
      for (let i = 0; i < piece; i++) {
        const delayed = keep * memory[at + i]!;
        const stored = samples[done + i]! + g * delayed;
        samples[done + i] = delayed - g * stored;
        memory[at + i] = stored;
      }
      this.at = at + piece === memory.length ? 0 : at + piece;
      done += piece;
    }
  }
}
