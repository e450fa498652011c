/** Frames of silence between two checks of the memory: a whole number of control blocks, about a second. */
const LOOK_FRAMES = 48000;

/** Memory below this is cleared: 400 dB below full scale. */
export const UNHEARD = 1e-20;

/** Lets a kernel with a long memory sleep while its input is silent and its memory has died away. */
export class SilenceGate {
  private asleep = false;
  private quiet = 0;

  /** True when it is time to check whether the memory has died away; if so, clear it and call `sleep`. */
  due(): boolean {
    if (this.asleep || this.quiet < LOOK_FRAMES) return false;
    this.quiet = 0;
    return true;
  }

  sleep(): void {
    this.asleep = true;
  }

  /** True when frames start..end-1 need no processing: asleep, and the input is silent. */
  rests(left: Float64Array, right: Float64Array, start: number, end: number): boolean {
    for (let i = start; i < end; i++) {
      if (left[i] !== 0 || right[i] !== 0) {
        this.asleep = false;
        this.quiet = 0;
        return false;
      }
    }
    this.quiet += end - start;
    return this.asleep;
  }

  reset(): void {
    this.asleep = false;
    this.quiet = 0;
  }
}
