import { Ramp } from '../core/ramp.ts';

export interface ExpanderSettings {
  /** Level at which it opens, dB. */
  readonly thresholdDb: number;
  /** Hysteresis: it begins to close only this far below the threshold, dB. */
  readonly hysteresisDb: number;
  /** ratio - 1: dB of gain lost for each dB below the threshold; 0 changes nothing. */
  readonly slope: number;
  /** Largest gain reduction, dB. */
  readonly rangeDb: number;
  /** Hold: time for which it stays open after the level has fallen, frames. */
  readonly holdSeconds: number;
}

/** Natural logarithm of the gain of 1 dB. */
const NEPERS = Math.LN10 / 20;
/** Levels below this (-400 dB) count as this. */
const SILENCE = 1e-20;

/** Gain of a closed expander (0 or less) for a level `under` the threshold by so much; all in dB or all in nepers. */
export const expansion = (under: number, slope: number, range: number): number =>
  -Math.min(range, slope * Math.max(0, under));

/** The smoothed parameters of an expander's curve, for both channels. */
export class ExpanderCurve {
  /** Nepers. */
  readonly threshold: Ramp;
  readonly range: Ramp;
  readonly slope: Ramp;
  hysteresis = 0;
  holdFrames = 0;

  constructor(
    private settings: ExpanderSettings,
    private readonly sampleRate: number,
  ) {
    this.threshold = new Ramp(NEPERS * settings.thresholdDb, sampleRate);
    this.range = new Ramp(NEPERS * settings.rangeDb, sampleRate);
    this.slope = new Ramp(settings.slope, sampleRate);
  }

  get settled(): boolean {
    return this.threshold.settled && this.range.settled && this.slope.settled;
  }

  set(settings: ExpanderSettings): void {
    this.settings = settings;
    this.threshold.set(NEPERS * settings.thresholdDb);
    this.range.set(NEPERS * settings.rangeDb);
    this.slope.set(settings.slope);
  }

  control(): void {
    this.threshold.control();
    this.range.control();
    this.slope.control();
    this.hysteresis = NEPERS * this.settings.hysteresisDb;
    this.holdFrames = Math.round(this.settings.holdSeconds * this.sampleRate);
  }

  reset(): void {
    this.threshold.reset();
    this.range.reset();
    this.slope.reset();
  }

  /** Linear gain that silence settles at. */
  get rest(): number {
    return this.gainAt(Math.log(SILENCE), 0);
  }

  /** Linear gain of the closed expander for a level in nepers, `k` frames into the control block. */
  gainAt(level: number, k: number): number {
    const { threshold, slope, range } = this;
    const under = threshold.value + threshold.step * k - level;
    return Math.exp(expansion(under, slope.value + slope.step * k, range.value + range.step * k));
  }
}

/**
 * One channel of an expander, from levels to the gains that it is to reach: 1 while open. It opens when the level reaches
 * the threshold, and closes when it has been more than the hysteresis below for longer than the hold.
 */
export class ExpanderSide {
  /** Frames for which it stays open. */
  private open = 0;
  private level = -1;
  private nepers = 0;
  private closed = 1;
  /** False when `closed` belongs to another level or curve. */
  private known = false;

  /** Replaces levels[0..frames-1] (linear) in place; `position` frames of the control block are already done. */
  process(levels: Float64Array, frames: number, curve: ExpanderCurve, position: number): void {
    const { hysteresis, holdFrames, settled } = curve;
    const { value, step } = curve.threshold;
    for (let k = 0; k < frames; k++) {
      const level = levels[k]!;
      if (level !== this.level) {
        this.level = level;
        this.nepers = Math.log(Math.max(level, SILENCE));
        this.known = false;
      }
      const over = this.nepers - (value + step * (position + k));
      if (over >= 0 || (this.open > 0 && over >= -hysteresis)) this.open = holdFrames + 1;
      else if (this.open > 0) this.open--;
      if (this.open === 0 && !(this.known && settled)) {
        this.closed = curve.gainAt(this.nepers, position + k);
        this.known = settled;
      }
      levels[k] = this.open > 0 ? 1 : this.closed;
    }
  }

  reset(): void {
    this.open = 0;
    this.level = -1;
  }
}
