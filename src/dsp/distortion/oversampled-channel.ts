import { AVERAGE_DELAY, HalfSample } from '../filters/half-sample.ts';
import { choice } from '../core/parameter-builders.ts';
import type { ChoiceParameter } from '../core/parameter.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Oversampler, oversamplingLatency } from './oversampling.ts';

const FACTORS = [2, 4, 8] as const;
const NAMES = ['2x', '4x', '8x'] as const;

export const oversamplingChoice = (about: string): ChoiceParameter<typeof NAMES> =>
  choice('Oversampling', NAMES, { default: '4x', about });

/** Times the rate. */
export const oversamplingFactor = ({ oversampling }: { readonly oversampling: number }): number =>
  FACTORS[oversampling]!;

/** Frames that means of two neighbours and their filter take, whole: they are padded to it. */
const averageFrames = (factor: number): number => Math.ceil(AVERAGE_DELAY / factor);

/** Whole samples from input to output. @param averaged whether what runs inside takes means of two neighbours */
export const oversampledLatency = (factor: number, averaged: boolean, sampleRate: number): number =>
  oversamplingLatency(factor, sampleRate) + (averaged ? averageFrames(factor) : 0);

/** What changes samples at the higher rate: 0..factor * count-1 in place, of channel 0 (left) or 1. */
interface Shaper {
  process(samples: Float64Array, count: number, position: number, channel: 0 | 1): void;
}

/** One channel at 2, 4 or 8 times the rate, for a shaper that both channels share. */
export class OversampledChannel {
  private readonly oversampler: Oversampler;
  private readonly average: HalfSample | null;

  /** @param averaged whether the shaper takes means of two neighbours: what they take of the highs is given back */
  constructor(
    private readonly channel: 0 | 1,
    factor: number,
    averaged: boolean,
    sampleRate: number,
  ) {
    this.oversampler = new Oversampler(factor, sampleRate);
    const pad = averageFrames(factor) * factor - AVERAGE_DELAY;
    this.average = averaged ? new HalfSample(pad, CONTROL_FRAMES * factor) : null;
  }

  /** Frames 0..count-1 in place; `position` frames of the control block are already done. */
  process(samples: Float64Array, count: number, position: number, shaper: Shaper): void {
    const { average, channel, oversampler } = this;
    oversampler.up(samples, 0, count);
    shaper.process(oversampler.samples, count, position, channel);
    average?.process(oversampler.samples, count * oversampler.factor);
    oversampler.down(samples, count);
  }

  reset(): void {
    this.oversampler.reset();
    this.average?.reset();
  }
}
