import type { StereoSound } from '../../audio/audio.ts';
import { arrivalBeside, AT_ONCE, DIRECT, wayThrough, type Arrival, type WayArrival } from './arrival.ts';
import type { Values } from './parameter.ts';
import { DyingAway, longestPause } from './dying-away.ts';
import { CONTROL_FRAMES, type Kernel, type KeySignal } from './processor.ts';
import { processorOf } from './registry.ts';
import { KernelStage, Series, type Stage } from './stage.ts';
import type { WetDry } from './wet-dry.ts';
import { WetStage } from './wet-stage.ts';

/** One processor of a chain, ready to run: its id, a number for each of its parameters, and the sound it works with. */
export interface ProcessorStep {
  readonly processor: string;
  readonly values: Values;
  readonly sound?: StereoSound;
  /** Its share beside the sound as it came in; absent: all wet. */
  readonly wetDry?: WetDry;
}

/** Processors in a row that share one dry path beside them. */
export interface SplitStep {
  readonly split: readonly ProcessorStep[];
  readonly wetDry?: WetDry;
}

export type ChainStep = ProcessorStep | SplitStep;

/** Place of a step in its chain; of one in a split: the place of the split and its own in there. */
export type StepPlace = number | readonly [split: number, inside: number];

/** The processors of a step, in order. */
export const processorSteps = (step: ChainStep): readonly ProcessorStep[] => ('split' in step ? step.split : [step]);

/** Delay of a whole chain, whole samples. */
export const chainLatency = (steps: readonly ChainStep[], sampleRate: number): number =>
  steps
    .flatMap(processorSteps)
    .reduce((sum, { processor, values }) => sum + processorOf(processor).latency(values, sampleRate), 0);

const stepTail = (step: ChainStep, sampleRate: number): number => {
  if (step.wetDry?.wet === 0) return 0;
  if ('split' in step) return chainTail(step.split, sampleRate);
  return processorOf(step.processor).tail(step.values, sampleRate, step.sound);
};

/** Samples that a chain sounds on after its input has ended (latency not counted): the tails follow one another. */
export const chainTail = (steps: readonly ChainStep[], sampleRate: number): number =>
  steps.reduce((sum, step) => sum + stepTail(step, sampleRate), 0);

const ALL_WET: WetDry = { wet: 1, law: 'linear' };

const isAtOnce = ({ lagSamples, polarity }: Arrival): boolean => lagSamples === 0 && polarity === 1;

const stepArrival = (step: ChainStep, sampleRate: number): WayArrival => {
  const { wetDry = ALL_WET } = step;
  if ('split' in step) {
    const { by, ...through } = chainArrival(step.split, sampleRate);
    const arrival = arrivalBeside(through, wetDry);
    return { ...arrival, by: isAtOnce(arrival) ? [] : by };
  }
  const processor = processorOf(step.processor);
  const own = processor.arrival?.(step.values, sampleRate, step.sound) ?? AT_ONCE;
  const arrival = arrivalBeside(own, wetDry);
  return { ...arrival, by: isAtOnce(arrival) ? [] : [processor.label] };
};

/** When a sound comes out of a chain, beyond its latency, and which way up. */
export const chainArrival = (steps: readonly ChainStep[], sampleRate: number): WayArrival =>
  steps.reduce((before, step) => wayThrough(before, stepArrival(step, sampleRate)), DIRECT);

/** Longest silence, samples, latency included, after which a step may sound again by itself. */
const stepPause = (step: ChainStep, sampleRate: number): number => {
  const pauses = processorSteps(step).map((inside) => longestPause(stepTail(inside, sampleRate), sampleRate));
  return chainLatency([step], sampleRate) + pauses.reduce((sum, pause) => sum + pause, 0);
};

const listensToKey = ({ processor, values }: ProcessorStep): boolean =>
  processorOf(processor).listensToKey?.(values) ?? false;

/** True when some processor of the chain listens to the key input. */
export const chainListensToKey = (steps: readonly ChainStep[]): boolean =>
  steps.flatMap(processorSteps).some(listensToKey);

/** A step as it runs, with what of it can be told something. */
interface Part {
  readonly stage: WetStage;
  readonly dyingAway: DyingAway;
  readonly kernel: Kernel | null;
  readonly inside: readonly Part[];
}

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

  /**
   * @param soundEnd frame of the input from which on nothing new comes, only what dies away: then each stage stops once it
   * has died away. Infinity: not known, and all run for good.
   */
  constructor(
    steps: readonly ChainStep[],
    private readonly sampleRate: number,
    private readonly maxFrames: number,
    private readonly soundEnd = Infinity,
  ) {
    this.parts = this.partsOf(steps, 0, null);
    this.whole = new Series(this.parts.map(({ stage }) => stage));
    this.latency = this.whole.latency;
  }

  /** New values for the processor at this place; they must not change its latency. */
  set(place: StepPlace, values: Values): void {
    this.keepOn(this.parts);
    this.partAt(place).kernel!.set(values);
  }

  /** New shares of the processor or split at this place beside the sound that comes to it. */
  setWetDry(place: StepPlace, wetDry: WetDry): void {
    this.keepOn(this.parts);
    this.partAt(place).stage.set(wetDry);
  }

  /** Processes frames 0..frames-1 in place. `key` is aligned with the input; null stands for no key. */
  process(left: Float64Array, right: Float64Array, frames: number, key: KeySignal | null = null): void {
    for (let start = 0; start < frames;) {
      if (this.phase === 0) this.whole.control();
      const end = Math.min(frames, start + CONTROL_FRAMES - this.phase);
      this.whole.process(left, right, start, end, key);
      this.phase = (this.phase + end - start) % CONTROL_FRAMES;
      start = end;
    }
  }

  /** Back to the state after construction. */
  reset(): void {
    this.phase = 0;
    this.whole.reset();
  }

  private partAt(place: StepPlace): Part {
    if (typeof place === 'number') return this.parts[place]!;
    return this.parts[place[0]]!.inside[place[1]]!;
  }

  /** How long a stage pauses hangs on what it was made with. */
  private keepOn(parts: readonly Part[]): void {
    for (const { dyingAway, inside } of parts) {
      dyingAway.keepOn();
      this.keepOn(inside);
    }
  }

  /** Steps in a row, the first of which hears the chain's input later by `arrival` samples, through what is `before` it. */
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
    return { stage: this.beside(stage, step, dyingAway), dyingAway, kernel, inside: [] };
  }

  private splitPart(step: SplitStep, arrival: number, before: DyingAway | null, dyingAway: DyingAway): Part {
    const inside = this.partsOf(step.split, arrival, before);
    const stage = new Series(inside.map((part) => part.stage));
    return { stage: this.beside(stage, step, dyingAway), dyingAway, kernel: null, inside };
  }

  private beside(stage: Stage, { wetDry = ALL_WET }: ChainStep, dyingAway: DyingAway): WetStage {
    return new WetStage(stage, dyingAway, wetDry, this.sampleRate, this.maxFrames);
  }
}
