import { AT_ONCE, MADE_ANEW } from '../core/arrival.ts';
import { type BandDesign, cascadeDb, designBand, limitHz } from '../filters/band-design.ts';
import { type BandSettings, FilterBand } from '../filters/filter-band.ts';
import { cascadeTail } from '../reverb/decay.ts';
import { CONTROL_FRAMES, defineProcessor, type Kernel } from '../core/processor.ts';
import { controlAll, type Part, resetAll } from '../core/parts.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { percentOfDecibels } from '../core/picture-handle.ts';
import { HarmonicGenerator, harmonicsLatency } from '../distortion/harmonic-generator.ts';
import { hertz, percent, toggle } from '../core/parameter-builders.ts';
import { Ramp } from '../core/ramp.ts';
import { StereoDelay } from '../core/delay-line.ts';
import type { Values } from '../core/parameter.ts';

const PICTURE_FLOOR_DB = -60;

const parameters = {
  amount: percent('Amount', [0, 100], {
    about:
      'Level of the added harmonics, relative to and following the sound they are made from; about equal at 100 %.',
  }),
  frequency: hertz('Frequency', [1000, 16000], {
    default: 7000,
    about: 'Lowest frequency of the added harmonics; they are made from the octave below it and the sound above.',
  }),
  even: percent('Even harmonics', [0, 100], {
    default: 60,
    about:
      'Share of the second harmonic (an octave above); the rest is the third harmonic, which is brighter and rougher.',
  }),
  alone: toggle('Air only', {
    about: 'Outputs the added harmonics only, for a parallel bus whose blend sets their level.',
  }),
};

type ExciterValues = Values<typeof parameters>;

/** Cut of 24 dB an octave below `hz`. */
const lowCut = (hz: number): BandDesign => ({ shape: 'low cut', order: 4, hz, gainDb: 0, q: Math.SQRT1_2 });
const sourceCut = ({ frequency }: ExciterValues): BandDesign => lowCut(frequency / 2);
const airCut = ({ frequency }: ExciterValues): BandDesign => lowCut(frequency);
const running = (design: BandDesign): BandSettings => ({ ...design, on: true, channels: 'both' });

/** Generates harmonics of the upper band, cuts them below its frequency and adds them to the delayed sound. */
class ExciterKernel implements Kernel<typeof parameters> {
  private readonly source: FilterBand;
  private readonly generator: HarmonicGenerator;
  private readonly air: FilterBand;
  private readonly amount: Ramp;
  private readonly dry: Ramp;
  private readonly delay: StereoDelay;
  private readonly parts: readonly Part[];
  private readonly left = new Float64Array(CONTROL_FRAMES);
  private readonly right = new Float64Array(CONTROL_FRAMES);
  /** Frames of the control block already done. */
  private position = 0;

  constructor(values: ExciterValues, sampleRate: number) {
    this.source = new FilterBand(running(sourceCut(values)), sampleRate);
    this.generator = new HarmonicGenerator(values.even / 100, sampleRate);
    this.air = new FilterBand(running(airCut(values)), sampleRate);
    this.amount = new Ramp(values.amount / 100, sampleRate);
    this.dry = new Ramp(1 - values.alone, sampleRate);
    this.delay = new StereoDelay(harmonicsLatency(sampleRate));
    this.parts = [this.source, this.generator, this.air, this.amount, this.dry];
  }

  set(values: ExciterValues): void {
    this.source.set(running(sourceCut(values)));
    this.generator.set(values.even / 100);
    this.air.set(running(airCut(values)));
    this.amount.set(values.amount / 100);
    this.dry.set(1 - values.alone);
  }

  control(): void {
    this.position = 0;
    controlAll(this.parts);
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { left: airLeft, right: airRight, amount, dry } = this;
    const frames = end - start;
    for (let k = 0; k < frames; k++) {
      airLeft[k] = left[start + k]!;
      airRight[k] = right[start + k]!;
    }
    this.source.process(airLeft, airRight, 0, frames);
    this.generator.process(airLeft, airRight, frames);
    this.air.process(airLeft, airRight, 0, frames);
    this.delay.process(left, right, left, right, start, end);
    for (let k = 0, moved = this.position; k < frames; k++, moved++) {
      const whole = dry.value + dry.step * moved;
      const air = amount.value + amount.step * moved;
      left[start + k] = whole * left[start + k]! + air * airLeft[k]!;
      right[start + k] = whole * right[start + k]! + air * airRight[k]!;
    }
    this.position += frames;
  }

  reset(): void {
    resetAll(this.parts);
    this.delay.reset();
    this.position = 0;
  }
}

/**
 * Both filters, and once more what the generator holds and spreads. A quarter more: its polynomials may raise what the first
 * filter rings on with by 22 dB, which is less than a quarter of the 120 dB.
 */
const tailOf = (values: ExciterValues, sampleRate: number): number => {
  if (values.amount === 0) return 0;
  const filters = [sourceCut, airCut].map((cut) => cascadeTail(designBand(cut(values), sampleRate)));
  return Math.ceil(1.25 * (filters[0]! + filters[1]!)) + harmonicsLatency(sampleRate);
};

export const processor = defineProcessor({
  id: 'exciter',
  label: 'Exciter',
  about: 'Adds harmonics above a frequency, at a level that follows the input.',
  parameters,
  start: { amount: 25 },
  latency: (_values, sampleRate) => harmonicsLatency(sampleRate),
  tail: tailOf,
  arrival: ({ alone }) => (alone === 1 ? MADE_ANEW : AT_ONCE),
  picture: {
    kind: 'frequency',
    x: [20, 20000],
    y: [PICTURE_FLOOR_DB, 0],
    drawn: 'area',
    points: (values, sampleRate, count) => {
      const sections = designBand(airCut(values), sampleRate);
      const top = limitHz(20000, sampleRate);
      return Array.from({ length: count }, (_, index) => {
        const hz = 20 * (top / 20) ** (index / Math.max(1, count - 1));
        const level = decibelsOf(values.amount / 100) + cascadeDb(sections, hz, sampleRate);
        return [hz, Math.max(PICTURE_FLOOR_DB, level)] as const;
      });
    },
    handles: ({ amount, frequency }) => [
      {
        id: 'air',
        label: 'Air',
        x: frequency,
        y: Math.max(PICTURE_FLOOR_DB, decibelsOf(amount / 100)),
        across: { parameter: 'frequency', at: (place) => place },
        up: { parameter: 'amount', at: (place) => percentOfDecibels(place, PICTURE_FLOOR_DB) },
        wheel: 'even',
      },
    ],
  },
  createKernel: (values, sampleRate) => new ExciterKernel(values, sampleRate),
});
