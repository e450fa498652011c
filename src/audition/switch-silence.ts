import { smoothStep } from '../dsp/core/smooth-step.ts';

/** A short silence, the same whatever happens behind it: fade out, silence, fade in. */
export class SwitchSilence {
  private at: number;

  /** @param fade length of each fade, and `hold` of the silence between them, frames */
  constructor(
    private readonly fade: number,
    private readonly hold: number,
  ) {
    this.at = this.frames;
  }

  private get frames(): number {
    return 2 * this.fade + this.hold;
  }

  get isOpen(): boolean {
    return this.at >= this.frames;
  }

  /** True while it still fades out: what is to change waits until it is silent. */
  get isFadingOut(): boolean {
    return this.at < this.fade;
  }

  /** Begins anew, from wherever it is. */
  begin(): void {
    if (this.isOpen) this.at = 0;
    // The fades are mirror images of each other.
    else if (this.at > this.fade + this.hold) this.at = this.frames - this.at;
    else if (!this.isFadingOut) this.at = this.fade;
  }

  /** Gain of the next frame, 0..1. */
  next(): number {
    const at = this.at++;
    if (at < this.fade) return 1 - smoothStep(at / this.fade);
    return smoothStep(Math.max(0, at - this.fade - this.hold) / this.fade);
  }
}
