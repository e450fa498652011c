import { FadingTap } from '../delay/fading-tap.ts';
import {
  cornerOf,
  bothRun,
  type FirstOrder,
  FirstOrderFilter,
  firstOrderLowPass,
  firstOrderPower,
  firstOrderShelf,
  type InTurn,
  runInTurn,
  WIRE,
} from '../filters/first-order.ts';
import { Ramp } from '../core/ramp.ts';
import type { Ring } from '../core/ring.ts';

/** Largest loss of highs in one pass beyond that of lows: 30 dB. More would only lengthen the filter's own decay. */
const LEAST_HIGHS = 10 ** (-30 / 20);

/** Losses of a delay line of a reverb in each pass. */
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
const lowsFilter = (length: number, { decay, lows = 1, lowTurnHz = 250 }: Absorption, rate: number): FirstOrder => {
  if (lows === 1) return WIRE;
  const gain = passGain(length, decay, rate) ** (1 / lows - 1);
  const held = Math.min(1 / LEAST_HIGHS, Math.max(LEAST_HIGHS, gain));
  return firstOrderShelf(held, 1 / Math.sqrt(held), cornerOf(lowTurnHz, rate));
};

/** The filters of one pass: highs, highs again where their loss is falling, lows. */
export type Absorbers = readonly [FirstOrder, FirstOrder, FirstOrder];

/**
 * Losses of a pass through `length` samples. A falling loss is that of two passes through half the length: a low-pass
 * alone falls by no more than 6 dB an octave, however long the way.
 */
export const absorbers = (length: number, absorption: Absorption, sampleRate: number): Absorbers => {
  const lows = lowsFilter(length, absorption, sampleRate);
  if (absorption.falling !== true) return [absorptionFilter(length, absorption, sampleRate), WIRE, lows];
  const half = absorptionFilter(length / 2, absorption, sampleRate);
  return [half, half, lows];
};

/** Power that `absorbers` keep at `hz`. */
export const absorbedPower = (filters: Absorbers, hz: number, sampleRate: number): number =>
  filters.reduce((power, filter) => power * firstOrderPower(filter, hz, sampleRate), 1);

/** A delay line with its absorption and the gain of its input, all of which move without clicks. */
export class AbsorbingLine {
  readonly tap: FadingTap;
  readonly loss: FirstOrderFilter;
  readonly input: Ramp;
  private readonly again: FirstOrderFilter;
  private readonly highs: InTurn;
  private readonly lows: FirstOrderFilter;
  /** True when nothing but `loss` needs control. */
  private resting = false;

  /**
   * @param ring its memory: of the longest delay and a block together
   * @param factor gain of the output
   */
  constructor(
    readonly ring: Ring,
    length: number,
    absorption: Absorption,
    inputGain: number,
    private readonly sampleRate: number,
    private readonly factor = 1,
  ) {
    this.input = new Ramp(inputGain, sampleRate);
    this.tap = new FadingTap(length, sampleRate);
    const [loss, again, lows] = absorbers(length, absorption, sampleRate);
    this.loss = new FirstOrderFilter(this.scaled(loss), sampleRate);
    this.again = new FirstOrderFilter(again, sampleRate);
    this.highs = [this.loss, this.again];
    this.lows = new FirstOrderFilter(lows, sampleRate);
  }

  set(length: number, absorption: Absorption, inputGain: number): void {
    this.resting = false;
    this.input.set(inputGain);
    this.tap.set(length);
    const [loss, again, lows] = absorbers(length, absorption, this.sampleRate);
    this.loss.set(this.scaled(loss));
    this.again.set(again);
    this.lows.set(lows);
  }

  control(): void {
    this.loss.control();
    if (this.resting) return;
    this.input.control();
    this.tap.control();
    this.again.control();
    this.lows.control();
    this.resting = this.input.settled && this.tap.settled && this.again.wire && this.lows.wire;
  }

  /** True when nothing moves and only `loss` filters the output. */
  get still(): boolean {
    return this.tap.still && this.loss.steady && this.again.wire && this.lows.wire;
  }

  /** Output of two lines, frames 0..count-1; `position` frames of the control block are already done. */
  static readBoth(
    a: AbsorbingLine,
    b: AbsorbingLine,
    targetA: Float64Array,
    targetB: Float64Array,
    count: number,
    position: number,
  ): void {
    a.tap.read(a.ring, targetA, count, position);
    b.tap.read(b.ring, targetB, count, position);
    if (bothRun(a.highs) && bothRun(b.highs)) {
      runInTurn(a.highs, b.highs, targetA, targetB, count);
    } else {
      for (const filter of a.highs) filter.process(targetA, count, position);
      for (const filter of b.highs) filter.process(targetB, count, position);
    }
    a.lows.process(targetA, count, position);
    b.lows.process(targetB, count, position);
  }

  /** Input of the line: source[0..count-1] plus its input gain times added[from..from+count-1]. */
  write(source: Float64Array, added: Float64Array, from: number, count: number, position: number): void {
    const { value, step } = this.input;
    this.ring.writeSum(source, added, from, value, step, count, position);
  }

  get peak(): number {
    return this.ring.peak;
  }

  clear(): void {
    this.ring.clear();
    this.loss.clear();
    this.again.clear();
    this.lows.clear();
  }

  reset(): void {
    this.ring.clear();
    this.tap.reset();
    this.input.reset();
    this.loss.reset();
    this.again.reset();
    this.lows.reset();
  }

  private scaled([b0, b1, a1]: FirstOrder): FirstOrder {
    return [this.factor * b0, this.factor * b1, a1];
  }
}
