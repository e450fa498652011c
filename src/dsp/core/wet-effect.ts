import { CONTROL_FRAMES, type Kernel } from './processor.ts';
import type { Memory, Part } from './parts.ts';
import type { Mixer } from './mixer.ts';
import type { Parameter, Parameters, Values } from './parameter.ts';
import { SilenceGate } from './silence-gate.ts';

/** Makes the wet sound of an effect. */
export interface WetSound<P extends Mixed> extends Part, Memory {
  set(values: Values<P>): void;
  /** Frames 0..count-1 in place, from dry to wet; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, count: number, position: number): void;
  /** True when its memory has died away. */
  readonly silent: boolean;
}

/** Parameters with a mix control. */
export type Mixed = Parameters & Readonly<Record<'mix', Parameter>>;

/**
 * Reverb, convolution, delay, chorus or doubler: their wet sound mixed with the dry one. While the input is silent and the wet
 * sound has died away, it sleeps.
 */
class WetEffect<P extends Mixed> implements Kernel<P> {
  private readonly gate = new SilenceGate();
  private readonly wetLeft = new Float64Array(CONTROL_FRAMES);
  private readonly wetRight = new Float64Array(CONTROL_FRAMES);
  /** Frames of the control block already done. */
  private position = 0;

  constructor(
    private readonly wet: WetSound<P>,
    private readonly mixer: Mixer,
  ) {}

  set(values: Values<P>): void {
    this.wet.set(values);
    this.mixer.set(values.mix! / 100);
  }

  control(): void {
    this.position = 0;
    this.wet.control();
    this.mixer.control();
    if (!this.gate.due() || !this.wet.silent) return;
    this.wet.clear();
    this.gate.sleep();
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { position, wetLeft, wetRight } = this;
    const count = end - start;
    this.position = position + count;
    if (this.gate.rests(left, right, start, end)) return;
    for (let i = 0; i < count; i++) {
      wetLeft[i] = left[start + i]!;
      wetRight[i] = right[start + i]!;
    }
    this.wet.process(wetLeft, wetRight, count, position);
    this.mixer.process(left, right, start, count, wetLeft, wetRight, position);
  }

  reset(): void {
    this.wet.clear();
    this.wet.reset();
    this.mixer.reset();
    this.gate.reset();
    this.position = 0;
  }
}

/** The kernel of an effect with these values. */
export const wetEffect = <P extends Mixed>(wet: WetSound<P>, mixer: Mixer, values: Values<P>): Kernel<P> => {
  const effect = new WetEffect(wet, mixer);
  effect.set(values);
  effect.reset();
  return effect;
};
