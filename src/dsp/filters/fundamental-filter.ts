import { limitHz } from './band-design.ts';
import { angleOf, COEFFICIENTS, type Coefficients, designHighCut, designLowCut } from './biquad.ts';
import { Ramp } from '../core/ramp.ts';
import { runOne, Section } from './section.ts';

/** Corner of the low cut, Hz: it takes away what lies below all notes, and the thump of their beginnings, which delays them. */
const LOW_CUT_HZ = 25;
/** Corner of the high cut in parts of the highest note: so low that all notes stand on its slope. */
const CORNER = 0.375;

const cornerOf = (upTo: number): number => CORNER * upTo;

/** Low cut, then twice the same high cut, for notes up to `upTo` Hz. */
const fundamentalSections = (upTo: number, sampleRate: number): readonly Coefficients[] => {
  const low = new Float64Array(COEFFICIENTS);
  const high = new Float64Array(COEFFICIENTS);
  designLowCut(low, angleOf(LOW_CUT_HZ, sampleRate), Math.SQRT1_2);
  designHighCut(high, angleOf(limitHz(cornerOf(upTo), sampleRate), sampleRate), Math.SQRT1_2);
  return [low, high, high];
};

/** What undoes the filter's loss at `hz`: Butterworth magnitudes, once for the low cut, squared for the high cuts. */
export const lossAt = (hz: number, upTo: number): number =>
  Math.sqrt(1 + (LOW_CUT_HZ / hz) ** 4) * (1 + (hz / cornerOf(upTo)) ** 4);

/**
 * Brings a bass note's fundamental out of its harmonics: the notes stand on a slope of 24 dB an octave, so that each
 * harmonic is weakened against the one below it. One channel.
 */
export class FundamentalFilter {
  private readonly sections: readonly [Section, Section, Section] = [new Section(), new Section(), new Section()];
  private readonly logUpTo: Ramp;
  private readonly high = new Float64Array(COEFFICIENTS);
  private moving = false;

  constructor(
    upTo: number,
    private readonly sampleRate: number,
  ) {
    this.logUpTo = new Ramp(Math.log(upTo), sampleRate);
    this.reset();
  }

  /** Highest note, Hz, at the end of the control block. */
  get upTo(): number {
    return Math.exp(this.logUpTo.end);
  }

  set(upTo: number): void {
    this.logUpTo.set(Math.log(upTo));
  }

  control(): void {
    const { logUpTo, sections, high } = this;
    const wasMoving = this.moving;
    logUpTo.control();
    this.moving = !logUpTo.settled;
    if (this.moving) {
      designHighCut(high, angleOf(limitHz(cornerOf(this.upTo), this.sampleRate), this.sampleRate), Math.SQRT1_2);
      sections[1].glide(high);
      sections[2].glide(high);
    } else if (wasMoving) {
      sections[1].settle();
      sections[2].settle();
    }
    for (const section of sections) section.flush();
  }

  /** Frames 0..count-1 in place; `position` frames of the control block are already done. */
  process(samples: Float64Array, count: number, position: number): void {
    for (const section of this.sections) runOne(section, 'left', samples, 0, count, position);
  }

  clear(): void {
    for (const section of this.sections) section.clear();
  }

  reset(): void {
    this.logUpTo.reset();
    this.moving = false;
    fundamentalSections(this.upTo, this.sampleRate).forEach((design, index) => this.sections[index]!.jump(design));
    this.clear();
  }
}
