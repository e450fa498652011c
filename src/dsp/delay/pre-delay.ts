import { CONTROL_FRAMES } from '../core/processor.ts';
import { FadingTap } from './fading-tap.ts';
import type { Memory, Part } from '../core/parts.ts';
import { milliseconds } from '../core/parameter-builders.ts';
import type { NumberParameter } from '../core/parameter.ts';
import { Ring } from '../core/ring.ts';
import { samplesIn, wholeSamplesIn } from '../core/time.ts';
import { UNHEARD } from '../core/silence-gate.ts';

/** Longest pre-delay, ms. */
export const MAX_PRE_DELAY_MS = 1000;

export const preDelayParameter = (about: string): NumberParameter<'ms'> =>
  milliseconds('Pre-delay', [0, MAX_PRE_DELAY_MS], { digits: 1, noteValues: true, about });

/** Delay of two channels in whole samples, changed by crossfade. */
export class PreDelay implements Part, Memory {
  private readonly ringLeft: Ring;
  private readonly ringRight: Ring;
  private readonly tap: FadingTap;

  /** @param ms 0..MAX_PRE_DELAY_MS, rounded to whole samples */
  constructor(
    ms: number,
    private readonly sampleRate: number,
  ) {
    const capacity = Math.ceil(samplesIn(MAX_PRE_DELAY_MS, sampleRate)) + CONTROL_FRAMES;
    this.ringLeft = new Ring(capacity);
    this.ringRight = new Ring(capacity);
    this.tap = new FadingTap(wholeSamplesIn(ms, sampleRate), sampleRate);
  }

  set(ms: number): void {
    this.tap.set(wholeSamplesIn(ms, this.sampleRate));
  }

  control(): void {
    this.tap.control();
  }

  /** Frames 0..count-1 in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    const { ringLeft, ringRight, tap } = this;
    ringLeft.write(left, count);
    ringRight.write(right, count);
    tap.read(ringLeft, left, count, position, count);
    tap.read(ringRight, right, count, position, count);
  }

  get silent(): boolean {
    return this.ringLeft.peak < UNHEARD && this.ringRight.peak < UNHEARD;
  }

  clear(): void {
    this.ringLeft.clear();
    this.ringRight.clear();
  }

  reset(): void {
    this.tap.reset();
  }
}
