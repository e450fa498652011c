import {
  ALL_WET,
  listensToKey,
  stepPause,
  type ChainStep,
  type ProcessorStep,
  type SplitStep,
  type StepPlace,
  processorSteps,
} from './chain-steps.ts';
import { DyingAway } from './dying-away.ts';
import { Follower } from './follower.ts';
import type { Values } from './parameter.ts';
import { CONTROL_FRAMES, type GainReductionTrace, type Kernel, type KeySignal } from './processor.ts';
import { processorOf } from './registry.ts';
import { KernelStage, Series, type Stage } from './stage.ts';
import { areSameStepLines, hasMixLine } from './step-lines.ts';
import { canMoveTo, hasSameValues, matchedSteps } from './step-match.ts';
import type { WetDry } from './wet-dry.ts';
import { WetStage } from './wet-stage.ts';

export * from './chain-steps.ts';

/** A running step: its stages, and its kernel and mix to be set. */
interface Part {
  readonly stage: WetStage;
  /** The kernel of the stage, where it is one processor. */
  readonly own: KernelStage | null;
  readonly dyingAway: DyingAway;
  readonly kernel: Kernel | null;
  readonly inside: readonly Part[];
  /** Latency of the chain up to its output, frames. */
  readonly late: number;
}

const takeOverPart = (part: Part, other: Part): void => {
  part.own?.takeOver(other.own!);
  part.stage.takeOver(other.stage);
  part.inside.forEach((inside, n) => takeOverPart(inside, other.inside[n]!));
};

const tracesOf = (parts: readonly Part[]): (GainReductionTrace | null)[] =>
  parts.flatMap(({ kernel, inside }) => (kernel ? [kernel.history ?? null] : tracesOf(inside)));

/**
 * A serial chain of processors, some of them in splits: the same class runs inside the worklet, in workers, on the command
 * line and in tests. Two channels in place, double precision, any block length up to `maxFrames`, output independent of it.
 */
export class Chain {
  /** Delay from input to output, whole samples. */
  readonly latency: number;
  private readonly parts: readonly Part[];
  private readonly whole: Series;
  /** Frames already done of the current control block. */
  private phase = 0;
  /** Steps that follow lines. */
  private followers: readonly Follower[];
  /** Frame of the song that the next frame of the input is of. */
  private place = 0;
  private isFresh = true;

  /**
   * @param soundEnd frame of the input after which there is no new sound, only tails: each stage then stops once it
   * has died away. Infinity: not known, and all stages keep running.
   */
  constructor(
    private steps: readonly ChainStep[],
    private readonly sampleRate: number,
    private readonly maxFrames: number,
    private readonly soundEnd = Infinity,
  ) {
    this.parts = this.partsOf(steps, 0, null);
    this.whole = new Series(this.parts.map(({ stage }) => stage));
    this.latency = this.whole.latency;
    this.followers = this.followersOf(steps);
    this.seek(0);
  }

  /** The next frame of the input is this frame of the song: lines continue from there. */
  seek(place: number): void {
    this.place = place;
    if (this.isFresh) for (const follower of this.followers) follower.begin(place);
  }

  /** Gain reduction over time of each processor, in order, those in splits too; null for one that keeps none. */
  get traces(): readonly (GainReductionTrace | null)[] {
    return tracesOf(this.parts);
  }

  /** New values for the processor at this place; they must not change its latency. */
  set(place: StepPlace, values: Values): void {
    this.keepOn(this.parts);
    this.partAt(place).kernel!.set(values);
  }

  /** New mix of the processor or split at this place. */
  setWetDry(place: StepPlace, wetDry: WetDry): void {
    this.keepOn(this.parts);
    this.partAt(place).stage.set(wetDry);
  }

  /**
   * Moves to the values and mixes of `steps`, smoothed. Returns false and changes nothing if another chain is needed:
   * other processors, another sound file, or another latency.
   */
  moveTo(steps: readonly ChainStep[]): boolean {
    const { steps: before, sampleRate } = this;
    if (steps.length !== before.length) return false;
    if (!steps.every((step, n) => canMoveTo(before[n]!, step, sampleRate))) return false;
    steps.forEach((step, n) => this.move(before[n]!, step, n));
    this.steps = steps;
    this.followers = this.followersOf(steps);
    return true;
  }

  /** Copies the state of the processors that both chains have, in their order; the other chain is not affected. */
  takeOver(other: Chain): void {
    this.phase = other.phase;
    for (const [from, to] of matchedSteps(other.steps, this.steps, this.sampleRate)) {
      takeOverPart(this.parts[to]!, other.parts[from]!);
      this.move(other.steps[from]!, this.steps[to]!, to);
    }
    this.isFresh = false;
    this.place = other.place;
    this.followers = this.followersOf(this.steps);
  }

  /** Processes frames 0..frames-1 in place. `key` is aligned with the input; null stands for no key. */
  process(left: Float64Array, right: Float64Array, frames: number, key: KeySignal | null = null): void {
    this.isFresh = false;
    for (let start = 0; start < frames;) {
      if (this.phase === 0) this.control();
      const end = Math.min(frames, start + CONTROL_FRAMES - this.phase);
      this.whole.process(left, right, start, end, key);
      this.phase = (this.phase + end - start) % CONTROL_FRAMES;
      this.place += end - start;
      start = end;
    }
  }

  private control(): void {
    const { followers, place } = this;
    for (const follower of followers) follower.control(place, place + CONTROL_FRAMES);
    this.whole.control();
  }

  /** Back to the state after construction. */
  reset(): void {
    this.phase = 0;
    this.whole.reset();
    this.isFresh = true;
    this.seek(0);
  }

  /** Sets the values and mix of a running step to those of another. */
  private move(before: ChainStep, to: ChainStep, place: number): void {
    const [insideBefore, inside] = [processorSteps(before), processorSteps(to)];
    inside.forEach((step, n) => {
      const at = 'split' in to ? ([place, n] as const) : place;
      const was = insideBefore[n]!;
      // Values that a line controls differ from the settings.
      const isLed = was.lines?.parameters !== undefined && !areSameStepLines(was.lines, step.lines);
      if (isLed || !hasSameValues(was.values, step.values)) this.set(at, step.values);
      if ('split' in to) this.moveMix(at, step);
    });
    this.moveMix(place, to);
  }

  private moveMix(place: StepPlace, to: ChainStep): void {
    if (!hasMixLine(to)) this.partAt(place).stage.release();
    this.setWetDry(place, to.wetDry ?? ALL_WET);
  }

  private followersOf(steps: readonly ChainStep[]): Follower[] {
    return steps.flatMap((step, n) => {
      const own = this.followerOf(step, this.parts[n]!);
      if (!('split' in step)) return own;
      return [...own, ...step.split.flatMap((inside, k) => this.followerOf(inside, this.parts[n]!.inside[k]!))];
    });
  }

  private followerOf(step: ChainStep, { stage, kernel, late }: Part): Follower[] {
    return step.lines ? [new Follower(step, stage, kernel, late, step.wetDry ?? ALL_WET, this.sampleRate)] : [];
  }

  private partAt(place: StepPlace): Part {
    if (typeof place === 'number') return this.parts[place]!;
    return this.parts[place[0]]!.inside[place[1]]!;
  }

  /** Keeps all stages running: their pauses were computed for the old settings. */
  private keepOn(parts: readonly Part[]): void {
    for (const { dyingAway, inside } of parts) {
      dyingAway.keepOn();
      this.keepOn(inside);
    }
  }

  /** Steps in series; the input of the first is the chain's input delayed by `arrival` samples, through the stages `before` it. */
  private partsOf(steps: readonly ChainStep[], arrival: number, before: DyingAway | null): Part[] {
    let latency = arrival;
    let last = before;
    return steps.map((step) => {
      const dyingAway = new DyingAway(last, this.soundEnd + latency, stepPause(step, this.sampleRate));
      const part =
        'split' in step ? this.splitPart(step, latency, last, dyingAway) : this.processorPart(step, latency, dyingAway);
      latency += part.stage.latency;
      last = dyingAway;
      return part;
    });
  }

  private processorPart(step: ProcessorStep, arrival: number, dyingAway: DyingAway): Part {
    const { processor: id, values, sound } = step;
    const processor = processorOf(id);
    const kernel = processor.createKernel(values, this.sampleRate, sound);
    const latency = processor.latency(values, this.sampleRate);
    const stage = new KernelStage(kernel, latency, listensToKey(step) ? arrival : null, this.maxFrames);
    return {
      stage: this.beside(stage, step, dyingAway),
      own: stage,
      dyingAway,
      kernel,
      inside: [],
      late: arrival + latency,
    };
  }

  private splitPart(step: SplitStep, arrival: number, before: DyingAway | null, dyingAway: DyingAway): Part {
    const inside = this.partsOf(step.split, arrival, before);
    const stage = new Series(inside.map((part) => part.stage));
    const outer = this.beside(stage, step, dyingAway);
    return { stage: outer, own: null, dyingAway, kernel: null, inside, late: arrival + stage.latency };
  }

  private beside(stage: Stage, { wetDry = ALL_WET }: ChainStep, dyingAway: DyingAway): WetStage {
    return new WetStage(stage, dyingAway, wetDry, this.sampleRate, this.maxFrames);
  }
}
