import type { Shape } from '../filters/band-design.ts';
import { type BandChannels, type BandSettings, FilterBand } from '../filters/filter-band.ts';
import { reductionDb } from './gain-computer.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';

export interface DynamicsSettings {
  /** When off, the gain returns to its resting value. */
  readonly on: boolean;
  /** The band whose gain moves; the detector's filter follows from it. */
  readonly shape: Shape;
  readonly hz: number;
  readonly q: number;
  readonly channels: BandChannels;
  /** dB, rms: a sine reads 3 dB below its peak. */
  readonly thresholdDb: number;
  /** The gain moves only while the band's level relative to the whole sound is above this, dB; null: always. */
  readonly shareDb: number | null;
  /** 1 - 1 / ratio. */
  readonly slope: number;
  /** Largest change of the gain, dB. */
  readonly rangeDb: number;
  readonly attackSeconds: number;
  readonly releaseSeconds: number;
  /** -1 turns the band down above the threshold, 1 turns it up. */
  readonly direction: -1 | 1;
}

/** Width of the gradual onset around the threshold, dB. */
const KNEE_DB = 6;
/** A gain closer to its resting value than this, dB, is set to it. */
const RESTED = 1e-6;
/** The share is judged over this time constant, seconds: longer than the period of a low voice, shorter than an s. */
const SHARE_SECONDS = 0.015;
/** A mean square below this (-300 dB) is silence. */
const SILENCE = 1e-30;

/**
 * Shape of the detector’s filter: of a shelf, the range beyond its frequency; of a tilt, the range above it; of all
 * others, a band-pass.
 */
const listeningShape = (shape: Shape): Shape => {
  if (shape === 'low shelf') return 'high cut';
  if (shape === 'high shelf' || shape === 'tilt') return 'low cut';
  return 'band-pass';
};

const listeningBand = ({ on, shape, hz, q, channels }: DynamicsSettings): BandSettings => ({
  on,
  shape: listeningShape(shape),
  order: 2,
  hz,
  gainDb: 0,
  q,
  channels: channels === 'both' ? 'both' : 'left',
});

const directionOf = ({ on, direction }: DynamicsSettings): number => (on ? direction : 0);

/**
 * Gain control of one filter band: the mean square of its channels, averaged over about a cycle, through
 * the compressor's static curve, then one pole in dB with the attack time on the way from rest and the release time on the
 * way back. Computed once a control block, so the filter follows at most 64 samples late.
 */
export class BandDynamics {
  private readonly filter: FilterBand;
  private readonly left = new Float64Array(CONTROL_FRAMES);
  private readonly right = new Float64Array(CONTROL_FRAMES);
  /** The smoothed direction: 0 while off. */
  private readonly direction: Ramp;
  private meanSquare = 0;
  /** The slower means for the share: of the band and of the whole. */
  private slowBand = 0;
  private slowWhole = 0;
  private shiftDb = 0;

  constructor(
    private settings: DynamicsSettings,
    private readonly sampleRate: number,
  ) {
    this.filter = new FilterBand(listeningBand(settings), sampleRate);
    this.direction = new Ramp(directionOf(settings), sampleRate);
  }

  set(settings: DynamicsSettings): void {
    this.settings = settings;
    this.filter.set(listeningBand(settings));
    this.direction.set(directionOf(settings));
  }

  /** True if it is off and the gain has returned to rest. */
  private get resting(): boolean {
    const { settings, direction, shiftDb, filter } = this;
    return !settings.on && shiftDb === 0 && direction.end === 0 && direction.settled && filter.idle;
  }

  /** Starts a control block. Returns the offset of the gain from its resting value at the block’s end, dB. */
  control(): number {
    if (this.resting) return 0;
    this.filter.control();
    this.direction.control();
    const { on, thresholdDb, slope, rangeDb, attackSeconds, releaseSeconds } = this.settings;
    if (this.meanSquare < SILENCE || (!on && this.direction.end === 0)) this.forget();
    const over = Math.min(10 * Math.log10(this.meanSquare) - thresholdDb, this.overShare());
    const target = this.direction.end * Math.min(rangeDb, reductionDb(over, slope, KNEE_DB));
    const seconds = Math.abs(target) > Math.abs(this.shiftDb) ? attackSeconds : releaseSeconds;
    this.shiftDb += (1 - Math.exp(-CONTROL_FRAMES / (seconds * this.sampleRate))) * (target - this.shiftDb);
    if (target === 0 && Math.abs(this.shiftDb) < RESTED) this.shiftDb = 0;
    return this.shiftDb;
  }

  /** Listens to frames start..end-1 of the sound before the equaliser. */
  hear(left: Float64Array, right: Float64Array, start: number, end: number): void {
    if (!this.settings.on) return;
    const frames = end - start;
    this.pick(left, right, start, frames);
    const { shareDb } = this.settings;
    if (shareDb !== null) this.slowWhole = this.averaged(this.slowWhole, 1 / SHARE_SECONDS, frames);
    this.filter.process(this.left, this.right, 0, frames);
    this.meanSquare = this.averaged(this.meanSquare, Math.min(this.settings.hz, 1000), frames);
    if (shareDb !== null) this.slowBand = this.averaged(this.slowBand, 1 / SHARE_SECONDS, frames);
  }

  reset(): void {
    this.filter.reset();
    this.direction.reset();
    this.forget();
    this.shiftDb = 0;
  }

  private forget(): void {
    this.meanSquare = this.slowBand = this.slowWhole = 0;
  }

  /** Excess of the band's share of the whole over its threshold, dB. */
  private overShare(): number {
    const { shareDb } = this.settings;
    if (shareDb === null) return Infinity;
    return this.slowWhole < SILENCE ? -Infinity : 10 * Math.log10(this.slowBand / this.slowWhole) - shareDb;
  }

  /** The channels that the band works on; a single one stands left, with silence beside it. */
  private pick(left: Float64Array, right: Float64Array, start: number, frames: number): void {
    const { left: first, right: second } = this;
    const { channels } = this.settings;
    for (let k = 0; k < frames; k++) {
      const l = left[start + k]!;
      const r = right[start + k]!;
      if (channels === 'both' || channels === 'left') first[k] = l;
      else if (channels === 'right') first[k] = r;
      else first[k] = channels === 'mid' ? (l + r) / 2 : (l - r) / 2;
      second[k] = channels === 'both' ? r : 0;
    }
  }

  /** A mean of squares, moved on over the frames in hand, `perSecond` being one over its time constant. */
  private averaged(from: number, perSecond: number, frames: number): number {
    const { left, right } = this;
    const share = this.settings.channels === 'both' ? 0.5 : 1;
    const rate = 1 - Math.exp(-perSecond / this.sampleRate);
    let mean = from;
    for (let k = 0; k < frames; k++) mean += rate * (share * (left[k]! * left[k]! + right[k]! * right[k]!) - mean);
    return mean;
  }
}
