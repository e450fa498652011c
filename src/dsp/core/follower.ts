import type { ChainStep } from './chain-steps.ts';
import { lineAt, switchAt, type PreparedLine } from './line.ts';
import type { Kernel } from './processor.ts';
import type { WetStage } from './wet-stage.ts';
import { wetDryGains, type WetDry } from './wet-dry.ts';

/** Applies lines to a running step: parameters through the kernel, which smooths them; the mix linearly from block to block. */
export class Follower {
  /** Values last set on the kernel. */
  private readonly values: Record<string, number>;
  private readonly parameters: readonly (readonly [id: string, line: PreparedLine])[];
  private readonly wet: PreparedLine | null;
  private readonly bypass: PreparedLine | null;
  /** Whether the kernel has reached `values`. */
  private isTold = false;

  /** @param late latency of the chain up to the step's output, where lines take effect, frames */
  constructor(
    step: ChainStep,
    private readonly stage: WetStage,
    private readonly kernel: Kernel | null,
    private readonly late: number,
    private readonly wetDry: WetDry,
    private readonly sampleRate: number,
  ) {
    const { lines } = step;
    this.values = { ...('values' in step ? step.values : {}) };
    this.parameters = Object.entries(('values' in step && step.lines?.parameters) || {});
    this.wet = lines?.wet ?? null;
    this.bypass = lines?.bypass ?? null;
  }

  /** Sets the lines' values at frame `place` of the song, which is the chain's next frame. The step has not run yet. */
  begin(place: number): void {
    const frame = place - this.late;
    for (const [id, line] of this.parameters) this.values[id] = lineAt(line, frame);
    if (this.parameters.length > 0) {
      this.kernel!.set(this.values);
      this.kernel!.reset();
    }
    this.isTold = true;
    if (this.leadsMix) this.stage.beginAt(this.wetAt(frame), this.dryAt(frame));
  }

  /** To be called before a control block of the chain, whose first frame is of frame `place` of the song; `next`: of the one after it. */
  control(place: number, next: number): void {
    const { parameters, values, kernel, late } = this;
    let isMoved = !this.isTold && parameters.length > 0;
    this.isTold = true;
    for (const [id, line] of parameters) {
      const value = lineAt(line, place - late);
      if (values[id] === value) continue;
      values[id] = value;
      isMoved = true;
    }
    if (isMoved) kernel!.set(values);
    if (this.leadsMix) this.stage.follow(this.wetAt(next - late), this.dryAt(next - late));
  }

  private get leadsMix(): boolean {
    return this.wet !== null || this.bypass !== null;
  }

  private wetAt(frame: number): number {
    return this.gainsAt(frame).wet * (1 - this.offAt(frame));
  }

  private dryAt(frame: number): number {
    const off = this.offAt(frame);
    return this.gainsAt(frame).dry * (1 - off) + off;
  }

  private gainsAt(frame: number): { readonly wet: number; readonly dry: number } {
    const { wet, wetDry } = this;
    return wetDryGains(wet ? { wet: lineAt(wet, frame), law: wetDry.law } : wetDry);
  }

  private offAt(frame: number): number {
    return this.bypass ? switchAt(this.bypass, frame, this.sampleRate) : 0;
  }
}
