import { smoothStep } from '../dsp/core/smooth-step.ts';

/** A gain that moves to where it is sent over a fixed time, smoothly at both ends. */
export class GainRamp {
  /** The gain at each frame of the block that `advance` was last called for, while it moves. */
  readonly block: Float64Array;
  /** False: `value` holds for the whole block. */
  moves = false;
  private from: number;
  private target: number;
  private done: number;

  constructor(
    /** The gain after the last block. */
    public value: number,
    private readonly frames: number,
    maxFrames: number,
  ) {
    this.block = new Float64Array(maxFrames);
    this.from = this.target = value;
    this.done = frames;
  }

  set(target: number): void {
    if (target === this.target) return;
    this.from = this.value;
    this.target = target;
    this.done = 0;
  }

  /** True where the block is silent: the gain is 0 and stays there. */
  get isClosed(): boolean {
    return !this.moves && this.value === 0;
  }

  /** True where it is heard, or about to be. */
  get isOpen(): boolean {
    return this.target > 0 || this.value > 0;
  }

  /** Works out the next `count` frames. */
  advance(count: number): void {
    this.moves = this.done < this.frames;
    if (!this.moves) return;
    const { from, target, frames } = this;
    for (let i = 0; i < count; i++) {
      const done = ++this.done;
      this.block[i] = done >= frames ? target : from + (target - from) * smoothStep(done / frames);
    }
    this.value = this.block[count - 1]!;
  }
}
