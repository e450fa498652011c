import { limitHz } from '../filters/band-design.ts';
import { angleOf, COEFFICIENTS, designLowCut, designShelf } from '../filters/biquad.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { runStereo, Section } from '../filters/section.ts';

/**
 * K-weighting of ITU-R BS.1770 within 0.02 dB: its low cut, and its shelf written as one that is half up at its corner,
 * which lies below the poles that the recommendation speaks of.
 */
const LOW_CUT = { hz: 38.13547087602444, q: 0.5003270373238773 };
const SHELF = { hz: 1681.974450955533 * 10 ** (-3.999843853973347 / 80), q: 0.7071752369554196, db: 3.999843853973347 };

/** K-weighted power of two channels, control block by control block: mean squares, summed over both. */
export class WeightedPower {
  private readonly sections = [new Section(), new Section()] as const;
  private readonly left = new Float64Array(CONTROL_FRAMES);
  private readonly right = new Float64Array(CONTROL_FRAMES);
  private sum = 0;

  constructor(sampleRate: number) {
    const into = new Float64Array(COEFFICIENTS);
    const angle = (hz: number): number => angleOf(limitHz(hz, sampleRate), sampleRate);
    designLowCut(into, angle(LOW_CUT.hz), LOW_CUT.q);
    this.sections[0].jump(into);
    designShelf(into, angle(SHELF.hz), SHELF.db, SHELF.q, false);
    this.sections[1].jump(into);
  }

  hear(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { left: ownLeft, right: ownRight } = this;
    const count = end - start;
    for (let i = 0; i < count; i++) {
      ownLeft[i] = left[start + i]!;
      ownRight[i] = right[start + i]!;
    }
    for (const section of this.sections) runStereo(section, ownLeft, ownRight, 0, count);
    let sum = this.sum;
    for (let i = 0; i < count; i++) sum += ownLeft[i]! * ownLeft[i]! + ownRight[i]! * ownRight[i]!;
    this.sum = sum;
  }

  /** Power of the control block that has ended. */
  control(): number {
    for (const section of this.sections) section.flush();
    const power = this.sum / CONTROL_FRAMES;
    this.sum = 0;
    return power;
  }

  clear(): void {
    for (const section of this.sections) section.clear();
    this.sum = 0;
  }
}
