import { StereoDelay } from './delay-line.ts';
import type { Kernel, KeySignal } from './processor.ts';
import { restoreState, stateOf } from './running-state.ts';

/** A part of a chain, two channels in place; all parts of a chain are controlled and processed in step. */
export interface Stage {
  /** Delay from input to output, whole samples. */
  readonly latency: number;
  /** Starts a control block of CONTROL_FRAMES. */
  control(): void;
  /** Frames start..end-1 in place, within one control block. `key` is aligned with the input of the chain; null: no key. */
  process(left: Float64Array, right: Float64Array, start: number, end: number, key: KeySignal | null): void;
  /** Back to the state after construction with the current targets. */
  reset(): void;
}

/** One processor in a chain; its key input is delayed by the latency of all processors before it. */
export class KernelStage implements Stage {
  private readonly keyDelay: StereoDelay | null;
  private readonly delayedKey: KeySignal;

  /** @param arrival latency at its input, samples; null: it does not use the key */
  constructor(
    readonly kernel: Kernel,
    readonly latency: number,
    arrival: number | null,
    maxFrames: number,
  ) {
    const keyFrames = arrival === null ? 0 : maxFrames;
    this.keyDelay = arrival === null ? null : new StereoDelay(arrival);
    this.delayedKey = { left: new Float64Array(keyFrames), right: new Float64Array(keyFrames) };
  }

  control(): void {
    this.kernel.control();
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number, key: KeySignal | null): void {
    const { delayedKey, kernel, keyDelay } = this;
    if (!key || !keyDelay) {
      kernel.process(left, right, start, end, null);
      return;
    }
    keyDelay.process(key.left, key.right, delayedKey.left, delayedKey.right, start, end);
    kernel.process(left, right, start, end, delayedKey);
  }

  reset(): void {
    this.kernel.reset();
    this.keyDelay?.reset();
  }

  /** Copies the state of another stage of the same processor and latency. */
  takeOver({ kernel, keyDelay }: KernelStage): void {
    restoreState(this.kernel, stateOf(kernel));
    if (keyDelay && this.keyDelay?.samples === keyDelay.samples) restoreState(this.keyDelay, stateOf(keyDelay));
  }
}

/** Stages one after the other. */
export class Series implements Stage {
  readonly latency: number;

  constructor(private readonly stages: readonly Stage[]) {
    this.latency = stages.reduce((sum, stage) => sum + stage.latency, 0);
  }

  control(): void {
    for (const stage of this.stages) stage.control();
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number, key: KeySignal | null): void {
    for (const stage of this.stages) stage.process(left, right, start, end, key);
  }

  reset(): void {
    for (const stage of this.stages) stage.reset();
  }
}
