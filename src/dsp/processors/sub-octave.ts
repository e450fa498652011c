import { AT_ONCE, MADE_ANEW } from '../core/arrival.ts';
import { type BandSettings, FilterBand } from '../filters/filter-band.ts';
import { cascadeTail } from '../reverb/decay.ts';
import { choice, hertz, percent } from '../core/parameter-builders.ts';
import { CONTROL_FRAMES, defineProcessor, type Kernel } from '../core/processor.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { designBand } from '../filters/band-design.ts';
import { dividerTail, OctaveDivider } from '../distortion/octave-divider.ts';
import { FundamentalFilter, lossAt } from '../filters/fundamental-filter.ts';
import { onePoleTail } from '../filters/one-pole.ts';
import { percentOfDecibels } from '../core/picture-handle.ts';
import { Quadrature, SLOWEST_HZ } from '../filters/quadrature.ts';
import { Ramp } from '../core/ramp.ts';
import type { Values } from '../core/parameter.ts';

const HIGHEST_NOTE_HZ = 120;
/** The sub is whole from here to this much above the highest note, so that a note on the limit does not flutter. */
const WHOLE_FROM_HZ = 28;
const WHOLE_UP_TO = 1.08;
/** It has gone here, and this much above the highest note. */
const GONE_BELOW_HZ = 20;
const GONE_ABOVE = 1.35;
/** The picture ends here, dB. */
const FLOOR_DB = -36;

const parameters = {
  amount: percent('Amount', [0, 100], {
    about: 'Level of the sub relative to the fundamental: equal at 100 %, 6 dB lower at 50 %.',
  }),
  highestFundamental: hertz('Highest fundamental', [60, HIGHEST_NOTE_HZ], {
    default: HIGHEST_NOTE_HZ,
    about: 'Highest note that gets a sub; pitch detection is more reliable the lower it is set.',
  }),
  highCut: hertz('High cut', [30, 200], { default: 120, about: 'High cut of the sub (24 dB/oct).' }),
  output: choice('Output', ['input and sub', 'sub only'], {
    about: 'Input plus sub, or the sub alone for a parallel bus.',
  }),
};

type SubOctaveValues = Values<typeof parameters>;

const highCutOf = ({ highCut }: SubOctaveValues): BandSettings => ({
  on: true,
  shape: 'high cut',
  order: 4,
  hz: highCut,
  gainDb: 0,
  q: Math.SQRT1_2,
  channels: 'left',
});

const dryOf = ({ output }: SubOctaveValues): number => (output === 0 ? 1 : 0);

/** Goes from 0 to 1 while `x` goes from `zero` to `one`. */
const between = (x: number, zero: number, one: number): number => Math.max(0, Math.min(1, (x - zero) / (one - zero)));

/** How far a note at `hz` gets its sub: 1 in range, 0 out of it. */
const shareOf = (hz: number, upTo: number): number =>
  between(hz, GONE_BELOW_HZ, WHOLE_FROM_HZ) * between(hz, GONE_ABOVE * upTo, WHOLE_UP_TO * upTo);

/** Gain of the sub of a note at `hz` relative to the filtered note. */
const gainFor = (hz: number, upTo: number): number => {
  const share = shareOf(hz, upTo);
  return share === 0 ? 0 : share * lossAt(hz, upTo);
};

/** Largest value of `gainFor`. */
const mostGain = (upTo: number): number => lossAt(GONE_ABOVE * upTo, upTo) * 1.2;

/**
 * Mid of both sides, fundamental filter, quadrature pair, octave divider; level from the pair's own size and frequency.
 * The sub is centred.
 */
export class SubOctaveKernel implements Kernel<typeof parameters> {
  private readonly amount: Ramp;
  private readonly dry: Ramp;
  private readonly filter: FundamentalFilter;
  private readonly quadrature: Quadrature;
  private readonly divider: OctaveDivider;
  private readonly highCut: FilterBand;
  private readonly sub = new Float64Array(CONTROL_FRAMES);
  /** Gain of the divided signal at the start and at the end of the control block. */
  private gain = 0;
  private nextGain = 0;
  /** True while there is no input to divide. */
  private asleep = false;
  /** Frames of the control block already done. */
  private position = 0;

  constructor(values: SubOctaveValues, sampleRate: number) {
    this.amount = new Ramp(values.amount / 100, sampleRate);
    this.dry = new Ramp(dryOf(values), sampleRate);
    this.filter = new FundamentalFilter(values.highestFundamental, sampleRate);
    this.quadrature = new Quadrature(sampleRate);
    this.divider = new OctaveDivider(sampleRate);
    this.highCut = new FilterBand(highCutOf(values), sampleRate);
  }

  /** Peak level of the sub at the end of the last frames, high cut left out of account, dB; -Infinity for none. */
  get levelDb(): number {
    return decibelsOf(this.divider.level * this.nextGain * this.amount.end);
  }

  set(values: SubOctaveValues): void {
    this.amount.set(values.amount / 100);
    this.dry.set(dryOf(values));
    this.filter.set(values.highestFundamental);
    this.highCut.set(highCutOf(values));
  }

  control(): void {
    this.position = 0;
    this.amount.control();
    this.dry.control();
    const { idle } = this;
    if (idle && !this.asleep) this.clear();
    this.asleep = idle;
    if (idle) return;
    this.filter.control();
    this.highCut.control();
    this.quadrature.flush();
    this.divider.flush();
    this.gain = this.nextGain;
    this.nextGain = gainFor(this.divider.hz, this.filter.upTo);
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { sub, position } = this;
    const count = end - start;
    this.position = position + count;
    const divides = !this.asleep;
    if (divides) this.divide(left, right, start, count, position);
    if (!divides && this.dry.settled && this.dry.value === 1) return;
    const { value: dry, step: dryStep } = this.dry;
    const { value: amount, step: amountStep } = this.amount;
    for (let i = 0; i < count; i++) {
      const k = position + i;
      const keep = dry + dryStep * k;
      const added = divides ? (amount + amountStep * k) * sub[i]! : 0;
      left[start + i] = keep * left[start + i]! + added;
      right[start + i] = keep * right[start + i]! + added;
    }
  }

  reset(): void {
    this.amount.reset();
    this.dry.reset();
    this.filter.reset();
    this.clear();
    this.asleep = false;
    this.position = 0;
  }

  private get idle(): boolean {
    return this.amount.settled && this.amount.value === 0;
  }

  /** Forgets the sound, not the settings. */
  private clear(): void {
    this.filter.clear();
    this.quadrature.clear();
    this.divider.clear();
    this.highCut.reset();
    this.gain = this.nextGain = 0;
  }

  private divide(left: Float64Array, right: Float64Array, start: number, count: number, position: number): void {
    const { sub, gain } = this;
    const step = (this.nextGain - gain) / CONTROL_FRAMES;
    for (let i = 0; i < count; i++) sub[i] = (left[start + i]! + right[start + i]!) / 2;
    this.filter.process(sub, count, position);
    this.quadrature.process(sub, count);
    this.divider.process(this.quadrature, sub, count);
    for (let i = 0; i < count; i++) sub[i]! *= gain + step * (position + i);
    this.highCut.process(sub, sub, 0, count);
  }
}

/** The slowest memory of the pair, whose next one is an octave and a half faster; then the level; then the high cut. */
const tailOf = (values: SubOctaveValues, sampleRate: number): number => {
  if (values.amount === 0) return 0;
  const most = mostGain(values.highestFundamental);
  const db = 120 + decibelsOf(most);
  return (
    onePoleTail(SLOWEST_HZ, db, sampleRate) +
    dividerTail(db, sampleRate) +
    cascadeTail(designBand(highCutOf(values), sampleRate), most)
  );
};

/** Level of the sub against the note, over the note's frequency. */
const subPoints = (values: SubOctaveValues, count: number): readonly (readonly [number, number])[] =>
  Array.from({ length: count }, (_, n) => {
    const hz = 20 * 15 ** (n / Math.max(1, count - 1));
    const cut = 1 + (hz / 2 / values.highCut) ** 8;
    const level = (values.amount / 100) * shareOf(hz, values.highestFundamental);
    return [hz, Math.max(FLOOR_DB, decibelsOf(level) - 10 * Math.log10(cut))] as const;
  });

export const processor = defineProcessor({
  id: 'sub-octave',
  label: 'Sub-octave',
  about:
    'Adds a tone an octave below bass notes and kicks from 30 to 120 Hz, as loud as they are. It follows one note at a time: two notes at once give a wrong pitch. It comes within 3 dB 40 to 80 ms after a note below 85 Hz begins, 70 to 115 ms after one near 120 Hz, and later for a note close to a lower highest fundamental.',
  parameters,
  start: { amount: 40 },
  latency: () => 0,
  tail: tailOf,
  arrival: (values) => (dryOf(values) === 0 ? MADE_ANEW : AT_ONCE),
  picture: {
    kind: 'frequency',
    x: [20, 300],
    y: [FLOOR_DB, 6],
    drawn: 'line',
    points: (values, _sampleRate, count) => subPoints(values, count),
    handles: ({ amount, highestFundamental, highCut }) => [
      {
        id: 'highCut',
        label: 'High cut',
        // The sub of a note at twice its frequency.
        x: 2 * highCut,
        y: FLOOR_DB / 2,
        across: { parameter: 'highCut', at: (place) => place / 2 },
      },
      {
        id: 'amount',
        label: 'Sub',
        x: highestFundamental,
        y: Math.max(FLOOR_DB, decibelsOf(amount / 100)),
        across: { parameter: 'highestFundamental', at: (place) => place },
        up: { parameter: 'amount', at: (place) => percentOfDecibels(place, FLOOR_DB) },
      },
    ],
  },
  createKernel: (values, sampleRate) => new SubOctaveKernel(values, sampleRate),
});
