import { StereoDelay } from './delay-line.ts';
import type { Values } from './parameter.ts';
import { CONTROL_FRAMES, type Kernel, type KeySignal } from './processor.ts';
import { processorOf } from './registry.ts';

/** One processor of a chain, ready to run: its id and a number for each of its parameters. */
export interface ChainStep {
  readonly processor: string;
  readonly values: Values;
}

/** Delay of a whole chain, whole samples. */
export const chainLatency = (steps: readonly ChainStep[], sampleRate: number): number =>
  steps.reduce((sum, { processor, values }) => sum + processorOf(processor).latency(values, sampleRate), 0);

/** Samples that a chain sounds on after its input has ended (latency not counted): the tails follow one another. */
export const chainTail = (steps: readonly ChainStep[], sampleRate: number): number =>
  steps.reduce((sum, { processor, values }) => sum + processorOf(processor).tail(values, sampleRate), 0);

/** True when some processor of the chain listens to the key input. */
export const chainListensToKey = (steps: readonly ChainStep[]): boolean =>
  steps.some(({ processor, values }) => processorOf(processor).listensToKey?.(values) ?? false);

interface Stage {
  readonly kernel: Kernel;
  /** Holds the key back by the latency of the stages before this one; null when the stage does not listen to it. */
  readonly keyDelay: StereoDelay | null;
}

/**
 * A serial chain of processors: the same class runs inside the worklet, in workers, on the command line and in tests.
 * Two channels in place, double precision, any block length up to `maxFrames`, output independent of it.
 */
export class Chain {
  /** Delay from input to output, whole samples. */
  readonly latency: number;
  private readonly stages: readonly Stage[];
  private readonly delayedKey: KeySignal;
  /** Frames already done of the current control block. */
  private phase = 0;

  constructor(steps: readonly ChainStep[], sampleRate: number, maxFrames: number) {
    let latency = 0;
    this.stages = steps.map(({ processor: id, values }) => {
      const processor = processorOf(id);
      const listens = processor.listensToKey?.(values) ?? false;
      const stage = {
        kernel: processor.createKernel(values, sampleRate),
        keyDelay: listens ? new StereoDelay(latency) : null,
      };
      latency += processor.latency(values, sampleRate);
      return stage;
    });
    this.latency = latency;
    const keyFrames = this.stages.some(({ keyDelay }) => keyDelay) ? maxFrames : 0;
    this.delayedKey = { left: new Float64Array(keyFrames), right: new Float64Array(keyFrames) };
  }

  /** New values for processor `index`; they must not change its latency. */
  set(index: number, values: Values): void {
    this.stages[index]!.kernel.set(values);
  }

  /** Processes frames 0..frames-1 in place. `key` is aligned with the input; null stands for no key. */
  process(left: Float64Array, right: Float64Array, frames: number, key: KeySignal | null = null): void {
    for (let start = 0; start < frames; ) {
      if (this.phase === 0) for (const { kernel } of this.stages) kernel.control();
      const end = Math.min(frames, start + CONTROL_FRAMES - this.phase);
      for (const { kernel, keyDelay } of this.stages) {
        if (key && keyDelay) {
          const { left: keyLeft, right: keyRight } = this.delayedKey;
          keyDelay.process(key.left, key.right, keyLeft, keyRight, start, end);
          kernel.process(left, right, start, end, this.delayedKey);
        } else {
          kernel.process(left, right, start, end, null);
        }
      }
      this.phase = (this.phase + end - start) % CONTROL_FRAMES;
      start = end;
    }
  }

  /** Back to the state after construction. */
  reset(): void {
    this.phase = 0;
    for (const { kernel, keyDelay } of this.stages) {
      kernel.reset();
      keyDelay?.reset();
    }
  }
}
