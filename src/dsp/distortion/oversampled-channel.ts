import { AVERAGE_DELAY, HalfSample } from '../filters/half-sample.ts';
import { choice } from '../core/parameter-builders.ts';
import type { ChoiceParameter } from '../core/parameter.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Oversampler, oversamplingLatency } from './oversampling.ts';
import { WEIGHTED_MEAN_DELAY, WholeSample } from '../filters/whole-sample.ts';

const FACTORS = [2, 4, 8] as const;
const NAMES = ['2x', '4x', '8x'] as const;

export const oversamplingChoice = (about: string): ChoiceParameter<typeof NAMES> =>
  choice('Oversampling', NAMES, { default: '4x', about });

/** Times the rate. */
export const oversamplingFactor = ({ oversampling }: { readonly oversampling: number }): number =>
  FACTORS[oversampling]!;

/**
 * What the shaper gives for a sample: its value; the mean on the way from the one before (half a sample late); or the mean
 * under a weight that rises to a sample and falls behind it (a sample late).
 */
export type Averaging = 'none' | 'mean' | 'weighted mean';

/** Samples at the higher rate that means and the filter after them take. */
const DELAYS = { none: 0, mean: AVERAGE_DELAY, 'weighted mean': WEIGHTED_MEAN_DELAY } as const;

/** The same in frames, whole: they are padded to it. */
const averageFrames = (averaging: Averaging, factor: number): number => Math.ceil(DELAYS[averaging] / factor);

/** Whole samples from input to output. */
export const oversampledLatency = (factor: number, averaging: Averaging, sampleRate: number): number =>
  oversamplingLatency(factor, sampleRate) + averageFrames(averaging, factor);

/** Compensates the highs that such means lose, where they are used. */
const repairOf = (averaging: Averaging, factor: number): HalfSample | WholeSample | null => {
  const pad = averageFrames(averaging, factor) * factor - DELAYS[averaging];
  if (averaging === 'mean') return new HalfSample(pad, CONTROL_FRAMES * factor);
  return averaging === 'weighted mean' ? new WholeSample(pad, CONTROL_FRAMES * factor) : null;
};

/** The nonlinearity at the higher rate: changes 0..factor * count-1 in place, of channel 0 (left) or 1. */
interface Shaper {
  process(samples: Float64Array, count: number, position: number, channel: 0 | 1): void;
}

/** One channel at 2, 4 or 8 times the rate, for a shaper that both channels share. */
export class OversampledChannel {
  private readonly oversampler: Oversampler;
  private readonly repair: HalfSample | WholeSample | null;

  constructor(
    private readonly channel: 0 | 1,
    factor: number,
    averaging: Averaging,
    sampleRate: number,
  ) {
    this.oversampler = new Oversampler(factor, sampleRate);
    this.repair = repairOf(averaging, factor);
  }

  /** Frames 0..count-1 in place; `position` frames of the control block are already done. */
  process(samples: Float64Array, count: number, position: number, shaper: Shaper): void {
    const { repair, channel, oversampler } = this;
    oversampler.up(samples, 0, count);
    shaper.process(oversampler.samples, count, position, channel);
    repair?.process(oversampler.samples, count * oversampler.factor);
    oversampler.down(samples, count);
  }

  reset(): void {
    this.oversampler.reset();
    this.repair?.reset();
  }
}
