import { limitHz } from './band-design.ts';
import { angleOf, COEFFICIENTS, designLowCut, designShelf } from './biquad.ts';
import { CONTROL_FRAMES } from './processor.ts';
import { Ramp } from './ramp.ts';
import { runStereo, Section } from './section.ts';

/**
 * K-weighting of ITU-R BS.1770 within 0.02 dB: its low cut, and its shelf written as one that is half up at its corner,
 * which lies below the poles that the recommendation speaks of.
 */
const LOW_CUT = { hz: 38.13547087602444, q: 0.5003270373238773 };
const SHELF = { hz: 1681.974450955533 * 10 ** (-3.999843853973347 / 80), q: 0.7071752369554196, db: 3.999843853973347 };

/** Time constant of both loudness averages unless another is given, seconds: the window of a short-term meter. */
const AVERAGE_SECONDS = 3;
/** Time constant of the gain, seconds. */
const GAIN_SECONDS = 0.1;
/** The most that it raises or lowers unless told otherwise, dB. */
const MOST_DB = 12;
/** Energy of a control block below this is silence; the gain stays. */
const SILENCE = 1e-30;

/** K-weighted energy of two channels, summed over control blocks and averaged over the last seconds. */
class LoudnessAverage {
  private readonly sections = [new Section(), new Section()] as const;
  private readonly left = new Float64Array(CONTROL_FRAMES);
  private readonly right = new Float64Array(CONTROL_FRAMES);
  private readonly keep: number;
  private block = 0;
  private average = 0;

  constructor(sampleRate: number, seconds: number) {
    const into = new Float64Array(COEFFICIENTS);
    const angle = (hz: number): number => angleOf(limitHz(hz, sampleRate), sampleRate);
    designLowCut(into, angle(LOW_CUT.hz), LOW_CUT.q);
    this.sections[0].jump(into);
    designShelf(into, angle(SHELF.hz), SHELF.db, SHELF.q, false);
    this.sections[1].jump(into);
    this.keep = Math.exp(-CONTROL_FRAMES / (seconds * sampleRate));
  }

  hear(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { left: ownLeft, right: ownRight } = this;
    const count = end - start;
    for (let i = 0; i < count; i++) {
      ownLeft[i] = left[start + i]!;
      ownRight[i] = right[start + i]!;
    }
    for (const section of this.sections) runStereo(section, ownLeft, ownRight, 0, count);
    let block = this.block;
    for (let i = 0; i < count; i++) block += ownLeft[i]! * ownLeft[i]! + ownRight[i]! * ownRight[i]!;
    this.block = block;
  }

  /** Takes the last control block into the average, and returns it. */
  control(): number {
    for (const section of this.sections) section.flush();
    this.average = this.average * this.keep + this.block;
    if (this.average < SILENCE) this.average = 0;
    this.block = 0;
    return this.average;
  }

  clear(): void {
    for (const section of this.sections) section.clear();
    this.block = this.average = 0;
  }
}

/**
 * Brings what a processor made to the loudness of what came in: gain = square root of the ratio of both K-weighted
 * energies, each averaged over the last seconds (exponentially, so that at the start it is all that there was), within a
 * bound either way. In silence the gain stays. Off, it is left out.
 */
export class LoudnessMatch {
  private readonly before: LoudnessAverage;
  private readonly after: LoudnessAverage;
  private readonly gain: Ramp;
  /** The most that it raises, and one over the most that it lowers; linear. */
  private readonly most: number;

  constructor(
    private on: boolean,
    sampleRate: number,
    seconds = AVERAGE_SECONDS,
    mostDb = MOST_DB,
  ) {
    this.most = 10 ** (mostDb / 20);
    this.before = new LoudnessAverage(sampleRate, seconds);
    this.after = new LoudnessAverage(sampleRate, seconds);
    this.gain = new Ramp(1, sampleRate, GAIN_SECONDS);
  }

  /** True when it changes nothing and listens to nothing. */
  get idle(): boolean {
    return !this.on && this.gain.settled && this.gain.value === 1;
  }

  set(on: boolean): void {
    if (on === this.on) return;
    this.on = on;
    this.gain.set(1);
    this.before.clear();
    this.after.clear();
  }

  control(): void {
    if (this.on) {
      const before = this.before.control();
      const after = this.after.control();
      if (before > 0 && after > 0)
        this.gain.set(Math.min(this.most, Math.max(1 / this.most, Math.sqrt(before / after))));
    }
    this.gain.control();
  }

  /** Listens to frames start..end-1 of the sound as it comes in. */
  hear(left: Float64Array, right: Float64Array, start: number, end: number): void {
    if (this.on) this.before.hear(left, right, start, end);
  }

  /** Listens to the same frames as they go out, and levels them; `position` frames of the control block are already done. */
  level(left: Float64Array, right: Float64Array, start: number, end: number, position: number): void {
    if (this.on) this.after.hear(left, right, start, end);
    const { value, step, settled } = this.gain;
    if (settled && value === 1) return;
    for (let i = start, k = position; i < end; i++, k++) {
      const gain = value + step * k;
      left[i]! *= gain;
      right[i]! *= gain;
    }
  }

  reset(): void {
    this.before.clear();
    this.after.clear();
    this.gain.set(1);
    this.gain.reset();
  }
}
