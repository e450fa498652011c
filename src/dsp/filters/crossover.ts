import { limitHz } from './band-design.ts';
import { angleOf, COEFFICIENTS, type Coefficients, designAllPass, designHighCut } from './biquad.ts';
import { Ramp } from '../core/ramp.ts';
import { runOne, runStereo, Section } from './section.ts';

/** Of both parts' Butterworth sections, and of the all-pass that the parts add up to. */
const Q = Math.SQRT1_2;

const design = (low: Coefficients, whole: Coefficients, hz: number, sampleRate: number): void => {
  const angle = angleOf(limitHz(hz, sampleRate), sampleRate);
  designHighCut(low, angle, Q);
  designAllPass(whole, angle, Q);
};

/** The sections of the part of a crossover that rings longest, in series. */
export const crossoverSections = (hz: number, sampleRate: number): readonly Coefficients[] => {
  const low = new Float64Array(COEFFICIENTS);
  const whole = new Float64Array(COEFFICIENTS);
  design(low, whole, hz, sampleRate);
  return [low, low, whole];
};

/**
 * Linear gain at `hz` of the low part of a crossover; the high part has the rest to 1, as both are in phase.
 * The square of a Butterworth magnitude of second order under the bilinear transform.
 */
export const lowPartGain = (corner: number, hz: number, sampleRate: number): number => {
  const turn = (at: number): number => Math.tan(angleOf(limitHz(at, sampleRate), sampleRate) / 2);
  return 1 / (1 + (turn(hz) / turn(corner)) ** 4);
};

/**
 * Crossover of fourth order for two channels (Linkwitz and Riley 1976): each part is 6 dB down at the corner and falls by
 * 24 dB an octave, both are in phase everywhere, and together they have the level of the input at all frequencies; only
 * the phase turns. The low part is two Butterworth low-passes; the high part is the all-pass less the low part, which
 * makes the sum exact. The corner moves along a logarithmic line.
 */
export class Crossover {
  private readonly lows: readonly [Section, Section] = [new Section(), new Section()];
  private readonly whole = new Section();
  private readonly beside = new Section();
  private readonly sections: readonly Section[] = [...this.lows, this.whole, this.beside];
  private readonly logHz: Ramp;
  private moving = false;
  private readonly low = new Float64Array(COEFFICIENTS);
  private readonly allPass = new Float64Array(COEFFICIENTS);

  constructor(
    hz: number,
    private readonly sampleRate: number,
  ) {
    this.logHz = new Ramp(Math.log(hz), sampleRate);
    this.reset();
  }

  set(hz: number): void {
    this.logHz.set(Math.log(hz));
  }

  control(): void {
    const { logHz, sections } = this;
    logHz.control();
    const wasMoving = this.moving;
    this.moving = !logHz.settled;
    if (this.moving) {
      design(this.low, this.allPass, Math.exp(logHz.end), this.sampleRate);
      for (const section of sections) section.glide(this.designOf(section));
    } else if (wasMoving) for (const section of sections) section.settle();
    for (const section of sections) section.flush();
  }

  /** Frames 0..count-1 of left and right become the high part; the low part is written beside. */
  split(
    left: Float64Array,
    right: Float64Array,
    lowLeft: Float64Array,
    lowRight: Float64Array,
    count: number,
    position: number,
  ): void {
    for (let i = 0; i < count; i++) {
      lowLeft[i] = left[i]!;
      lowRight[i] = right[i]!;
    }
    for (const section of this.lows) this.run(section, lowLeft, lowRight, count, position);
    this.run(this.whole, left, right, count, position);
    for (let i = 0; i < count; i++) {
      left[i]! -= lowLeft[i]!;
      right[i]! -= lowRight[i]!;
    }
  }

  /** Gives a signal that does not pass the crossover the same phase shift, in place. */
  align(left: Float64Array, right: Float64Array, count: number, position: number): void {
    this.run(this.beside, left, right, count, position);
  }

  /** Clears the memory and applies the settings at once. */
  reset(): void {
    this.logHz.reset();
    this.moving = false;
    design(this.low, this.allPass, Math.exp(this.logHz.end), this.sampleRate);
    for (const section of this.sections) {
      section.jump(this.designOf(section));
      section.clear();
    }
  }

  private designOf(section: Section): Coefficients {
    return section === this.whole || section === this.beside ? this.allPass : this.low;
  }

  private run(section: Section, left: Float64Array, right: Float64Array, count: number, position: number): void {
    if (!this.moving) return runStereo(section, left, right, 0, count);
    runOne(section, 'left', left, 0, count, position);
    runOne(section, 'right', right, 0, count, position);
  }
}
