import type { StereoSound } from '../../audio/audio.ts';
import { arrivalBeside, AT_ONCE, DIRECT, wayThrough, type Arrival, type WayArrival } from './arrival.ts';
import { longestPause } from './dying-away.ts';
import type { Values } from './parameter.ts';
import { processorOf } from './registry.ts';
import { hasMixLine, valuesHeld, type MixLines, type StepLines } from './step-lines.ts';
import type { WetDry } from './wet-dry.ts';

/** One processor of a chain, ready to run: its id, a number for each of its parameters, and the sound file that it uses. */
export interface ProcessorStep {
  readonly processor: string;
  readonly values: Values;
  readonly sound?: StereoSound;
  /** Mix with the dry sound; absent: 100 %. */
  readonly wetDry?: WetDry;
  /** Lines that it follows; `values` and `wetDry` then hold the values at the start. Absent: none. */
  readonly lines?: StepLines;
}

/** Processors in a row that share one dry path beside them. */
export interface SplitStep {
  readonly split: readonly ProcessorStep[];
  readonly wetDry?: WetDry;
  readonly lines?: MixLines;
}

export type ChainStep = ProcessorStep | SplitStep;

/** Index of a step in its chain; within a split: the index of the split, and that of the step in it. */
export type StepPlace = number | readonly [split: number, inside: number];

/** The processors of a step, in order. */
export const processorSteps = (step: ChainStep): readonly ProcessorStep[] => ('split' in step ? step.split : [step]);

/** Delay of a whole chain, whole samples. */
export const chainLatency = (steps: readonly ChainStep[], sampleRate: number): number =>
  steps
    .flatMap(processorSteps)
    .reduce((sum, { processor, values }) => sum + processorOf(processor).latency(values, sampleRate), 0);

const stepTail = (step: ChainStep, sampleRate: number): number => {
  if (step.wetDry?.wet === 0 && !hasMixLine(step)) return 0;
  if ('split' in step) return chainTail(step.split, sampleRate);
  const processor = processorOf(step.processor);
  return Math.max(...valuesHeld(step).map((values) => processor.tail(values, sampleRate, step.sound)));
};

/** Tail of a chain, samples after the end of its input (latency not counted): the sum of the tails of its steps. */
export const chainTail = (steps: readonly ChainStep[], sampleRate: number): number =>
  steps.reduce((sum, step) => sum + stepTail(step, sampleRate), 0);

export const ALL_WET: WetDry = { wet: 1, law: 'linear' };

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

/** Delay (beyond its latency) and polarity of a chain. */
export const chainArrival = (steps: readonly ChainStep[], sampleRate: number): WayArrival =>
  steps.reduce((before, step) => wayThrough(before, stepArrival(step, sampleRate)), DIRECT);

/** Longest silence, samples, latency included, after which a step may still produce sound. */
export const stepPause = (step: ChainStep, sampleRate: number): number => {
  const pauses = processorSteps(step).map((inside) => longestPause(stepTail(inside, sampleRate), sampleRate));
  return chainLatency([step], sampleRate) + pauses.reduce((sum, pause) => sum + pause, 0);
};

export const listensToKey = ({ processor, values }: ProcessorStep): boolean =>
  processorOf(processor).listensToKey?.(values) ?? false;

/** True when a processor of the chain uses the key input. */
export const chainListensToKey = (steps: readonly ChainStep[]): boolean =>
  steps.flatMap(processorSteps).some(listensToKey);
