import { chainLatency, type ChainStep } from '../dsp/core/chain.ts';
import { straight } from '../dsp/core/gain-matrix.ts';
import { fillMovingLevel, type MovingLevel } from '../dsp/core/moving-gains.ts';
import { LiveStrip } from '../dsp/core/live-strip.ts';
import type { GainReductionTrace } from '../dsp/core/processor.ts';
import type { StripSpec } from '../dsp/core/strip.ts';
import type { PlanMixBus } from '../render/plan/plan.ts';
import { GainRamp } from './gain-ramp.ts';

/** The chain of the mix bus; its trim is a gain in front of it. */
const specOf = (steps: readonly ChainStep[]): StripSpec => ({
  inputs: [{ gains: straight(1), delay: 0 }],
  keyInputs: [],
  steps,
});

/** Trim and chain of the mix bus, while they are moved: envelopes and tails stay. */
export class SongBus {
  /** Delay of the chain, frames. */
  latency = 0;
  readonly left: Float32Array;
  readonly right: Float32Array;
  private readonly strip: LiveStrip;
  private readonly trim: GainRamp;
  /** Line of the trim. */
  private moving: MovingLevel | null = null;
  private readonly open: Float64Array;
  private readonly trimmed: readonly [Float32Array, Float32Array];
  private readonly inputs: readonly [readonly Float32Array[]];

  constructor(
    private readonly sampleRate: number,
    rampFrames: number,
    maxFrames: number,
  ) {
    this.strip = new LiveStrip(specOf([]), sampleRate, maxFrames);
    this.trim = new GainRamp(1, rampFrames, maxFrames);
    this.open = new Float64Array(maxFrames);
    this.left = new Float32Array(maxFrames);
    this.right = new Float32Array(maxFrames);
    this.trimmed = [new Float32Array(maxFrames), new Float32Array(maxFrames)];
    this.inputs = [this.trimmed];
  }

  /** As `Chain.traces`. */
  get traces(): readonly (GainReductionTrace | null)[] {
    return this.strip.traces;
  }

  set({ trimGain, moving, steps }: PlanMixBus): void {
    this.trim.set(trimGain);
    this.moving = moving ?? null;
    this.strip.moveTo(specOf(steps));
    this.latency = chainLatency(steps, this.sampleRate);
  }

  /** Runs the sum of the paths, which is of the song from frame `place` on, through it, into `left` and `right`. */
  process(sumLeft: Float64Array, sumRight: Float64Array, count: number, place: number): void {
    const { trim, moving, open } = this;
    const [left, right] = this.trimmed;
    trim.advance(count);
    for (let i = 0; i < count; i++) {
      const gain = trim.moves ? trim.block[i]! : trim.value;
      // The sum as it is printed is single precision, and trimmed after that.
      left[i] = gain * Math.fround(sumLeft[i]!);
      right[i] = gain * Math.fround(sumRight[i]!);
    }
    if (moving) {
      fillMovingLevel(moving, this.sampleRate, place, count, open);
      for (let i = 0; i < count; i++) {
        left[i]! *= open[i]!;
        right[i]! *= open[i]!;
      }
    }
    this.strip.seek(place);
    this.strip.process(this.inputs, this.left, this.right, count);
  }
}
