import { FadingTap } from '../delay/fading-tap.ts';
import {
  cornerOf,
  type FirstOrder,
  FirstOrderFilter,
  firstOrderLowPass,
  firstOrderShelf,
  WIRE,
} from '../filters/first-order.ts';
import { Ramp } from '../core/ramp.ts';
import { Ring } from '../core/ring.ts';

/** Most that highs lose in one pass beyond what lows lose: 30 dB. More would only stretch the filter's own memory. */
const LEAST_HIGHS = 10 ** (-30 / 20);

/** What a delay line of a reverb loses each time a sound passes. */
export interface Absorption {
  /** Time in which low frequencies fall by 60 dB, seconds. */
  readonly decay: number;
  /** The same time for the highest frequencies, as a part of `decay`, above 0 and up to 1. */
  readonly highs: number;
  /** Where the loss in dB is half-way between the two, Hz. */
  readonly turnHz: number;
  /** True: above the turn the loss grows on with frequency, as in air, instead of levelling out at `highs`. */
  readonly falling?: boolean;
  /** Decay time of the lows as a part of `decay`, above 0; 1 or none is alike. */
  readonly lows?: number;
  /** Where their loss in dB is half-way, Hz. */
  readonly lowTurnHz?: number;
}

/** Linear gain of a pass through `length` samples for a decay of 60 dB in `decay` seconds (Jot and Chaigne 1991). */
export const passGain = (length: number, decay: number, sampleRate: number): number =>
  10 ** ((-3 * length) / (decay * sampleRate));

/**
 * First-order shelf for y = b0 x + b1 x' - a1 y': gain g at 0 Hz and g k at Nyquist, so that highs decay in `highs` of the
 * time; its middle, g sqrt(k), lies at the turn. Shelves of this form stay in proportion in dB, so lines of different
 * lengths lose alike at all frequencies. With k = 1 it is the plain gain g. A falling loss has the same gains at 0 Hz and
 * at the turn, and falls on by 6 dB an octave; lines of different lengths then lose alike up to the turn.
 */
export const absorptionFilter = (length: number, absorption: Absorption, sampleRate: number): FirstOrder => {
  const { decay, highs, turnHz, falling = false } = absorption;
  const g = passGain(length, decay, sampleRate);
  const root = Math.sqrt(Math.max(LEAST_HIGHS, g ** (1 / highs - 1)));
  const turn = cornerOf(turnHz, sampleRate);
  if (root === 1) return [g, 0, 0];
  if (!falling) return firstOrderShelf(g, root, turn);
  return firstOrderLowPass(g, turn / Math.sqrt(1 / (root * root) - 1));
};

/** First-order shelf that gives lows their own decay: a wire when it is that of the rest. At most 30 dB up or down a pass. */
export const lowsFilter = (
  length: number,
  { decay, lows = 1, lowTurnHz = 250 }: Absorption,
  rate: number,
): FirstOrder => {
  if (lows === 1) return WIRE;
  const gain = passGain(length, decay, rate) ** (1 / lows - 1);
  const held = Math.min(1 / LEAST_HIGHS, Math.max(LEAST_HIGHS, gain));
  return firstOrderShelf(held, 1 / Math.sqrt(held), cornerOf(lowTurnHz, rate));
};

/** A delay line with its absorption and the gain of its input, all of which move without clicks. */
export class AbsorbingLine {
  private readonly ring: Ring;
  private readonly tap: FadingTap;
  private readonly loss: FirstOrderFilter;
  private readonly lows: FirstOrderFilter;
  private readonly input: Ramp;

  /**
   * @param capacity longest delay and block together, samples
   * @param sign 1 or -1: what comes out is multiplied by it
   */
  constructor(
    capacity: number,
    length: number,
    absorption: Absorption,
    inputGain: number,
    private readonly sampleRate: number,
    private readonly sign: 1 | -1 = 1,
  ) {
    this.ring = new Ring(capacity);
    this.input = new Ramp(inputGain, sampleRate);
    this.tap = new FadingTap(length, sampleRate);
    this.loss = new FirstOrderFilter(this.signed(absorptionFilter(length, absorption, sampleRate)), sampleRate);
    this.lows = new FirstOrderFilter(lowsFilter(length, absorption, sampleRate), sampleRate);
  }

  set(length: number, absorption: Absorption, inputGain: number): void {
    this.input.set(inputGain);
    this.tap.set(length);
    this.loss.set(this.signed(absorptionFilter(length, absorption, this.sampleRate)));
    this.lows.set(lowsFilter(length, absorption, this.sampleRate));
  }

  control(): void {
    this.input.control();
    this.tap.control();
    this.loss.control();
    this.lows.control();
  }

  /** What comes out of the line, frames 0..count-1; `position` frames of the control block are already done. */
  read(target: Float64Array, count: number, position: number): void {
    this.tap.read(this.ring, target, count, position);
    this.absorb(target, count, position);
  }

  /** As `read`, with the length moved by `offset` samples at the start of the control block and `step` more each frame. */
  readMoving(target: Float64Array, count: number, position: number, offset: number, step: number): void {
    this.tap.readMoving(this.ring, target, count, position, offset, step);
    this.absorb(target, count, position);
  }

  /** What goes into the line: source[0..count-1] plus its input gain times added[0..count-1]. */
  write(source: Float64Array, added: Float64Array, count: number, position: number): void {
    const { value, step } = this.input;
    this.ring.writeSum(source, added, value, step, count, position);
  }

  get peak(): number {
    return this.ring.peak;
  }

  clear(): void {
    this.ring.clear();
    this.loss.clear();
    this.lows.clear();
  }

  reset(): void {
    this.ring.clear();
    this.tap.reset();
    this.input.reset();
    this.loss.reset();
    this.lows.reset();
  }

  private signed([b0, b1, a1]: FirstOrder): FirstOrder {
    return [this.sign * b0, this.sign * b1, a1];
  }

  private absorb(samples: Float64Array, count: number, position: number): void {
    this.loss.process(samples, count, position);
    this.lows.process(samples, count, position);
  }
}
