import { designSection, hasGain, isCut, limitHz, MAX_SECTIONS, sectionCount, type BandDesign } from './band-design.ts';
import { angleOf, COEFFICIENTS } from './biquad.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';
import { runOne, runStereo, Section } from './section.ts';

/** Which channels of the pair a band filters. Mid and side are those of an encoded pair: they stand left and right. */
export type BandChannels = 'both' | 'left' | 'right' | 'mid' | 'side';

export interface BandSettings extends BandDesign {
  readonly on: boolean;
  readonly channels: BandChannels;
  /** True when `shift` moves its gain. */
  readonly dynamic?: boolean;
}

/** True when the band changes the sound: a bell, shelf or tilt that rests at 0 dB is a wire. */
export const isActive = ({ on, shape, gainDb, dynamic }: BandSettings): boolean =>
  on && (!hasGain(shape) || gainDb !== 0 || dynamic === true);

const sameStructure = (a: BandSettings, b: BandSettings): boolean =>
  a.shape === b.shape &&
  a.channels === b.channels &&
  (a.matched ?? false) === (b.matched ?? false) &&
  (a.order === b.order || !isCut(a.shape));

/**
 * One running filter band for two channels. Frequency and q move along a logarithmic line, gain in dB; a band that is
 * switched, or that changes its shape, slope, design or channels, fades out, changes while it is not heard, and fades in.
 */
export class FilterBand {
  /** The band's sections; the first `count` are in use. */
  readonly sections: readonly Section[] = Array.from({ length: MAX_SECTIONS }, () => new Section());
  private readonly logHz: Ramp;
  private readonly gainDb: Ramp;
  private readonly logQ: Ramp;
  private readonly wet: Ramp;
  /** The running settings; they differ from the target only while the band fades out to change. */
  private live: BandSettings;
  private moving = false;
  /** dB on top of the gain, and what the sections were last designed for. */
  private shiftDb = 0;
  private designedShiftDb = 0;
  private position = 0;
  private readonly design = new Float64Array(COEFFICIENTS);
  private readonly dryLeft = new Float64Array(CONTROL_FRAMES);
  private readonly dryRight = new Float64Array(CONTROL_FRAMES);

  constructor(
    private target: BandSettings,
    private readonly sampleRate: number,
  ) {
    this.live = target;
    this.logHz = new Ramp(Math.log(target.hz), sampleRate);
    this.gainDb = new Ramp(target.gainDb, sampleRate);
    this.logQ = new Ramp(Math.log(target.q), sampleRate);
    this.wet = new Ramp(0, sampleRate);
    this.reset();
  }

  get count(): number {
    return sectionCount(this.live);
  }

  get channels(): BandChannels {
    return this.live.channels;
  }

  /** True when it is a wire. */
  get idle(): boolean {
    return this.wet.value === 0 && this.wet.settled;
  }

  /** True when nothing fades or moves, so that its sections may run by themselves. */
  get steady(): boolean {
    return !this.moving && this.wet.value === 1 && this.wet.settled;
  }

  set(target: BandSettings): void {
    this.target = target;
    this.logHz.set(Math.log(target.hz));
    this.gainDb.set(target.gainDb);
    this.logQ.set(Math.log(target.q));
    // A band at rest starts afresh at its next control block.
    if (!this.idle) this.wet.set(isActive(target) && sameStructure(this.live, target) ? 1 : 0);
  }

  /** From the next control block on its gain is this much higher, dB; the way there takes that block. */
  shift(db: number): void {
    this.shiftDb = db;
  }

  control(): void {
    this.position = 0;
    if (this.idle) {
      if (!isActive(this.target)) return;
      this.adopt();
      this.wet.set(1);
    }
    this.wet.control();
    this.move();
    for (let k = 0; k < this.count; k++) this.sections[k]!.flush();
  }

  /** Filters frames start..end-1 in place, also while it fades or moves. */
  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    if (this.idle) return;
    const { channels, position } = this;
    const fading = this.wet.value !== 1 || !this.wet.settled;
    if (fading) this.keepDry(left, right, start, end);
    for (let k = 0; k < this.count; k++) {
      const section = this.sections[k]!;
      if (this.steady && channels === 'both') runStereo(section, left, right, start, end);
      else {
        if (channels !== 'right' && channels !== 'side') runOne(section, 'left', left, start, end, position);
        if (channels !== 'left' && channels !== 'mid') runOne(section, 'right', right, start, end, position);
      }
    }
    if (fading) this.blend(left, right, start, end);
    this.position = position + end - start;
  }

  reset(): void {
    this.shiftDb = 0;
    this.adopt();
    this.wet.set(isActive(this.target) ? 1 : 0);
    this.wet.reset();
    this.position = 0;
  }

  /** Applies the target at once, with cleared memory. */
  private adopt(): void {
    this.live = this.target;
    this.logHz.reset();
    this.gainDb.reset();
    this.logQ.reset();
    this.moving = false;
    this.designedShiftDb = this.shiftDb;
    for (let k = 0; k < this.count; k++) {
      this.compute(k);
      this.sections[k]!.jump(this.design);
      this.sections[k]!.clear();
    }
  }

  private move(): void {
    const { logHz, gainDb, logQ } = this;
    logHz.control();
    gainDb.control();
    logQ.control();
    const wasMoving = this.moving;
    this.moving = !(logHz.settled && gainDb.settled && logQ.settled && this.shiftDb === this.designedShiftDb);
    this.designedShiftDb = this.shiftDb;
    for (let k = 0; k < this.count; k++) {
      if (this.moving) {
        this.compute(k);
        this.sections[k]!.glide(this.design);
      } else if (wasMoving) this.sections[k]!.settle();
    }
  }

  /** Designs section `k` for the end of the control block. */
  private compute(k: number): void {
    const angle = angleOf(limitHz(Math.exp(this.logHz.end), this.sampleRate), this.sampleRate);
    designSection(this.design, k, this.live, angle, this.gainDb.end + this.shiftDb, Math.exp(this.logQ.end));
  }

  private keepDry(left: Float64Array, right: Float64Array, start: number, end: number): void {
    for (let i = start, k = 0; i < end; i++, k++) {
      this.dryLeft[k] = left[i]!;
      this.dryRight[k] = right[i]!;
    }
  }

  private blend(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { dryLeft, dryRight, position } = this;
    const { value, step } = this.wet;
    for (let i = start, k = 0; i < end; i++, k++) {
      const wet = value + step * (position + k);
      left[i] = dryLeft[k]! + wet * (left[i]! - dryLeft[k]!);
      right[i] = dryRight[k]! + wet * (right[i]! - dryRight[k]!);
    }
  }
}
