import { type CurveIntegral, integralAt, integralOf, meanBetween } from './averaged-curve.ts';
import { gainOf } from '../../audio/decibels.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';
import { type ShapingCurve, tabulate, valueAt } from './shaping-curve.ts';

/** Field by which the magnetisation of a strong wave lags, relative to that of a full-scale wave at 0 dB of drive (-20 dB). */
const COERCIVITY = 0.1;
/** Crest of the magnetisation at which half of that is left. */
const HALF_FREED = 0.25;
const HALF_FREED_FOURTH = HALF_FREED ** 4;
/** Lag in silence, so that no step divides by 0. */
const LEAST_COERCIVITY = 1e-9;
/** Time constant in which a crest is forgotten, seconds: longer than the lowest notes take from crest to crest. */
const CREST_SECONDS = 0.1;
/** Magnetisation below this is none. */
const VANISHED = 1e-30;
/** Field for each unit of the table's input: the table reaches to a field of 36, where the curve is within 1 % of its end. */
const FIELD_SCALE = 3;

/** Langevin's function coth q - 1 / q, by its series near 0. */
const langevin = (q: number): number =>
  Math.abs(q) < 0.1 ? (q / 3) * (1 - (q * q) / 15 + (2 * q ** 4) / 315) : 1 / Math.tanh(q) - 1 / q;

/** L(3 h) of the field h: slope 1 at 0, towards 1 for strong fields. */
const anhysteretic: ShapingCurve = tabulate((x) => langevin(3 * FIELD_SCALE * x));

const anhystereticIntegral: CurveIntegral = integralOf(anhysteretic);

/** Magnetisation of an ideally biased tape: L(3 h). */
const idealAt = (h: number): number => valueAt(anhysteretic, h / FIELD_SCALE);
/** Its integral from 0, in units of the table's input. */
const areaAt = (h: number): number => integralAt(anhysteretic, anhystereticIntegral, h / FIELD_SCALE);
/** Its mean between two fields with these integrals. */
const meanIdeal = (from: number, fromArea: number, to: number, toArea: number): number =>
  meanBetween(anhysteretic, from / FIELD_SCALE, fromArea, to / FIELD_SCALE, toArea);

/** Peak of the sine whose level is kept: -12 dB below full scale. */
const REFERENCE_PEAK = 10 ** (-12 / 20);
const REFERENCE_STEPS = 64;
const REFERENCE_SINE = Float64Array.from(
  { length: REFERENCE_STEPS },
  (_, n) => REFERENCE_PEAK * Math.sin((2 * Math.PI * n) / REFERENCE_STEPS),
);

/** Numbers that a channel remembers. */
const STATE = 3;
/** Steps from one point of a picture to the next. */
const STEPS_BETWEEN = 8;

/**
 * Field by which a wave lags whose magnetisation has such a crest: c^4 / (c^4 + half^4) of the whole. Bias shakes the walls
 * of small magnetisations free, so that they follow the ideal curve (anhysteretic recording; Westmijze 1953, from memory);
 * only strong ones are lagging. The fourth power is a choice: it keeps the harmonics of quiet sound below those of the
 * ideal curve.
 */
const coercivityAt = (crest: number): number => {
  const square = crest * crest;
  const fourth = square * square;
  return LEAST_COERCIVITY + (COERCIVITY * fourth) / (fourth + HALF_FREED_FOURTH);
};

/**
 * What the pinned part becomes when the field goes on by `way` and the ideal curve with it from `ideal` to `nextIdeal`: the
 * exact approach to a straight line, with exp(d) by its series to the third power, so that no step can overshoot.
 */
const pinnedAfter = (pinned: number, ideal: number, nextIdeal: number, way: number, coercivity: number): number => {
  const end = nextIdeal - pinned;
  // Only towards the ideal curve: a wall that is pinned does not move against the field (Jiles and Atherton's limit).
  if (way * end <= 0) return pinned;
  let start = ideal - pinned;
  let d = Math.abs(way) / coercivity;
  if (way * start < 0) {
    // The curve crosses on the way: only what is left of it counts.
    d *= end / (end - start);
    start = 0;
  }
  const grown = 1 + d * (1 + d * (1 / 2 + d / 6));
  return pinned + (start * (grown - 1) + (end - start) * d * (1 / 2 + d * (1 / 3 + d / 6))) / grown;
};

/**
 * Linear gain at which a slow sine of -12 dBFS has equal level at input and output.
 *
 * @param drive linear gain into the loop
 * @param lag part of the magnetisation that lags, 0..1
 */
export const hysteresisMakeUp = (drive: number, lag: number): number => {
  const coercivity = coercivityAt(idealAt(drive * REFERENCE_PEAK));
  let [pinned, field, ideal, squares] = [0, 0, 0, 0];
  // The first turn leads from rest into the loop; the second is the loop.
  for (let n = 1; n <= 2 * REFERENCE_STEPS; n++) {
    const next = drive * REFERENCE_SINE[n % REFERENCE_STEPS]!;
    const nextIdeal = idealAt(next);
    pinned = pinnedAfter(pinned, ideal, nextIdeal, next - field, coercivity);
    field = next;
    ideal = nextIdeal;
    if (n > REFERENCE_STEPS) squares += (ideal + lag * (pinned - ideal)) ** 2;
  }
  return REFERENCE_PEAK / Math.sqrt((2 * squares) / REFERENCE_STEPS);
};

/** The rising branch of the loop of a sine of peak 1: [input, output] at `count` points. */
export const risingBranch = (drive: number, lag: number, count: number): readonly (readonly [number, number])[] => {
  const makeUp = hysteresisMakeUp(drive, lag);
  const coercivity = coercivityAt(idealAt(drive));
  let [pinned, field] = [0, 0];
  const go = (to: number): void => {
    for (let n = 1, from = field; n <= STEPS_BETWEEN; n++) {
      const next = from + ((drive * to - from) * n) / STEPS_BETWEEN;
      pinned = pinnedAfter(pinned, idealAt(field), idealAt(next), next - field, coercivity);
      field = next;
    }
  };
  for (const end of [1, -1, 1, -1]) for (let n = 1; n <= 16; n++) go(field / drive + (end - field / drive) * (n / 16));
  return Array.from({ length: count }, (_, n) => {
    const x = -1 + (2 * n) / Math.max(1, count - 1);
    go(x);
    return [x, makeUp * ((1 - lag) * idealAt(field) + lag * pinned)] as const;
  });
};

/**
 * Magnetisation of tape by a field, for oversampled blocks of two channels: the model of Jiles and Atherton (1986) as used for
 * tape by Chowdhury (DAFx 2019), M = (1 - lag) Man + lag Mpinned, where Man = L(3 h) is the ideal curve and Mpinned moves
 * towards it by 1 / coercivity per unit of field, only in the direction of the field. Its limits: no coupling between
 * domains (alpha = 0, as it is 0.0016 there), no bias oscillator (the lag stands for how far bias falls short, and what is
 * left of the coercivity follows the crests of the magnetisation), and the loop depends on the field alone, not on how
 * fast it moves. With alpha = 0 each step solves the equation by an exponential approach, so it is stable for any input.
 *
 * What it gives out is the mean on the way from each sample to the next (first-order antiderivative anti-aliasing; Parker,
 * Zavalishin and Le Bivic 2016), exact for the ideal curve and by a straight line for the lag: half a sample late.
 */
export class Hysteresis {
  private readonly driveDb: Ramp;
  private readonly lag: Ramp;
  /** Field, pinned part and crest of the magnetisation of each channel. */
  private readonly state = new Float64Array(2 * STATE);
  private readonly forgetting: number;
  private drive = 1;
  private gain = 1;
  private nextDrive = 1;
  private nextGain = 1;

  /** @param factor samples a frame; @param lag 0..1 */
  constructor(
    driveDb: number,
    lag: number,
    private readonly factor: number,
    sampleRate: number,
  ) {
    this.driveDb = new Ramp(driveDb, sampleRate);
    this.lag = new Ramp(lag, sampleRate);
    this.forgetting = Math.exp(-1 / (CREST_SECONDS * sampleRate * factor));
    this.reset();
  }

  set(driveDb: number, lag: number): void {
    this.driveDb.set(driveDb);
    this.lag.set(lag);
  }

  control(): void {
    const { driveDb, lag, state } = this;
    const resting = driveDb.settled && lag.settled;
    this.drive = this.nextDrive;
    this.gain = this.nextGain;
    driveDb.control();
    lag.control();
    if (!resting) this.aim(driveDb.end, lag.end);
    for (let i = 0; i < 2 * STATE; i++) if (Math.abs(state[i]!) < VANISHED) state[i] = 0;
  }

  /** samples[0..factor frames - 1] of channel 0 or 1 in place; `position` frames of the control block are already done. */
  process(samples: Float64Array, frames: number, position: number, channel: 0 | 1): void {
    const { state, factor, drive, gain, forgetting } = this;
    const perStep = 1 / (CONTROL_FRAMES * factor);
    const driveStep = (this.nextDrive - drive) * perStep;
    const gainStep = (this.nextGain - gain) * perStep;
    const lag = this.lag.value;
    const lagStep = this.lag.step / factor;
    let field = state[STATE * channel]!;
    let pinned = state[STATE * channel + 1]!;
    let crest = state[STATE * channel + 2]!;
    let ideal = idealAt(field);
    let area = areaAt(field);
    for (let i = 0, k = position * factor; i < frames * factor; i++, k++) {
      const next = (drive + driveStep * k) * samples[i]!;
      const nextIdeal = idealAt(next);
      const nextArea = areaAt(next);
      const behind = pinned - ideal;
      const crestBefore = crest;
      crest = Math.max(Math.abs(nextIdeal), forgetting * crest);
      pinned = pinnedAfter(pinned, ideal, nextIdeal, next - field, coercivityAt((crestBefore + crest) / 2));
      const mean = meanIdeal(field, area, next, nextArea);
      samples[i] = (gain + gainStep * k) * (mean + ((lag + lagStep * k) * (behind + pinned - nextIdeal)) / 2);
      field = next;
      ideal = nextIdeal;
      area = nextArea;
    }
    state[STATE * channel] = field;
    state[STATE * channel + 1] = pinned;
    state[STATE * channel + 2] = crest;
  }

  reset(): void {
    this.driveDb.reset();
    this.lag.reset();
    this.aim(this.driveDb.value, this.lag.value);
    this.drive = this.nextDrive;
    this.gain = this.nextGain;
    this.state.fill(0);
  }

  private aim(driveDb: number, lag: number): void {
    this.nextDrive = gainOf(driveDb);
    this.nextGain = hysteresisMakeUp(this.nextDrive, lag);
  }
}
