import { designBand, type BandDesign } from '../dsp/filters/band-design.ts';
import { runStereo, Section } from '../dsp/filters/section.ts';
import { GainRamp } from './gain-ramp.ts';

/** Ways of listening that only the monitor has: nothing of them is ever printed or measured of the mix. */
const MONITOR_CHECKS = ['mono', 'side', 'lows', 'small loudspeaker', 'right inverted'] as const;
export type MonitorCheck = (typeof MONITOR_CHECKS)[number];

/** Butterworth cut of 24 dB an octave. */
const steep = (shape: 'low cut' | 'high cut', hz: number): BandDesign => ({
  ...{ shape, hz, order: 4, gainDb: 0, q: Math.SQRT1_2 },
});

/** Below this the lows are heard alone, Hz: where they are usually kept in the middle. Common practice. */
export const LOWS_HZ = 120;
/** What a loudspeaker of a hand's width gives: about so much of the band, and no more than one side. Common practice. */
export const SMALL_HZ: readonly [low: number, high: number] = [200, 8000];

const FILTERS: Readonly<Partial<Record<MonitorCheck, readonly BandDesign[]>>> = {
  lows: [steep('high cut', LOWS_HZ)],
  'small loudspeaker': [steep('low cut', SMALL_HZ[0]), steep('high cut', SMALL_HZ[1])],
};

/** One check at work, on two channels in place. */
class RunningCheck {
  private readonly sections: readonly Section[];

  constructor(
    private readonly check: MonitorCheck | null,
    sampleRate: number,
  ) {
    const designs = (check && FILTERS[check]) ?? [];
    this.sections = designs
      .flatMap((band) => designBand(band, sampleRate))
      .map((coefficients) => {
        const section = new Section();
        section.jump(coefficients);
        return section;
      });
  }

  get isNone(): boolean {
    return this.check === null;
  }

  process(left: Float64Array, right: Float64Array, count: number): void {
    const { check } = this;
    if (check === 'mono' || check === 'side' || check === 'small loudspeaker') {
      const sign = check === 'side' ? -1 : 1;
      for (let i = 0; i < count; i++) left[i] = right[i] = 0.5 * (left[i]! + sign * right[i]!);
    } else if (check === 'right inverted') {
      for (let i = 0; i < count; i++) right[i] = -right[i]!;
    }
    for (const section of this.sections) runStereo(section, left, right, 0, count);
  }
}

/** The check that the monitor is on, faded over from the last one. Without any the sound passes bit for bit. */
export class MonitorChecks {
  private now: RunningCheck;
  /** What fades out; null: nothing. */
  private last: RunningCheck | null = null;
  private fade: GainRamp;
  /** Asked for while another fade was under way; undefined: nothing. */
  private next: MonitorCheck | null | undefined = undefined;
  private wanted: MonitorCheck | null = null;
  private readonly left: Float64Array;
  private readonly right: Float64Array;

  constructor(
    private readonly sampleRate: number,
    private readonly fadeFrames: number,
    private readonly maxFrames: number,
  ) {
    this.now = new RunningCheck(null, sampleRate);
    this.fade = new GainRamp(1, fadeFrames, maxFrames);
    this.left = new Float64Array(maxFrames);
    this.right = new Float64Array(maxFrames);
  }

  set(check: MonitorCheck | null): void {
    if (check === this.wanted) return;
    this.wanted = check;
    if (this.last) this.next = check;
    else this.turnTo(check);
  }

  private turnTo(check: MonitorCheck | null): void {
    this.next = undefined;
    this.last = this.now;
    this.now = new RunningCheck(check, this.sampleRate);
    this.fade = new GainRamp(0, this.fadeFrames, this.maxFrames);
    this.fade.set(1);
  }

  /** Frames 0..count-1 in place. */
  process(left: Float64Array, right: Float64Array, count: number): void {
    const { now, last, fade } = this;
    if (!last) {
      if (!now.isNone) now.process(left, right, count);
      return;
    }
    const [oldLeft, oldRight] = [this.left, this.right];
    for (let i = 0; i < count; i++) {
      oldLeft[i] = left[i]!;
      oldRight[i] = right[i]!;
    }
    last.process(oldLeft, oldRight, count);
    now.process(left, right, count);
    fade.advance(count);
    for (let i = 0; i < count; i++) {
      const share = fade.moves ? fade.block[i]! : fade.value;
      left[i] = oldLeft[i]! + share * (left[i]! - oldLeft[i]!);
      right[i] = oldRight[i]! + share * (right[i]! - oldRight[i]!);
    }
    if (fade.value < 1) return;
    this.last = null;
    if (this.next !== undefined) this.turnTo(this.next);
  }
}
