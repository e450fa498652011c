import { cascadeDb, designBand, limitHz, SHAPES } from '../band-design.ts';
import type { Coefficients } from '../biquad.ts';
import { cascadeTail } from '../decay.ts';
import { type BandChannels, type BandSettings, FilterBand, isActive } from '../filter-band.ts';
import type { Parameter, Values } from '../parameter.ts';
import { defineProcessor, type Kernel } from '../processor.ts';
import { runStereo, runStereoPair, type Section } from '../section.ts';

const BANDS = [1, 2, 3, 4, 5, 6, 7, 8] as const;
type BandNumber = (typeof BANDS)[number];
type Field = 'on' | 'shape' | 'frequency' | 'gain' | 'q' | 'slope' | 'mode';
type EqParameters = Readonly<Record<`band${BandNumber}.${Field}`, Parameter>>;
export type EqValues = Values<EqParameters>;

/** Slopes of the cuts, dB an octave: 6 for each order of the filter. */
const SLOPES = [6, 12, 18, 24, 36, 48] as const;
const MODES = ['stereo', 'mid', 'side'] as const;
/** After mid/side encoding mid stands in the left channel and side in the right. */
const CHANNELS: readonly BandChannels[] = ['both', 'left', 'right'];
/** Where a band stands until it is moved: about an octave and a half apart. */
const FREQUENCIES: Readonly<Record<BandNumber, number>> = {
  1: 40,
  2: 100,
  3: 250,
  4: 600,
  5: 1500,
  6: 3500,
  7: 8000,
  8: 16000,
};

const numbersOf = (band: BandNumber, group: string): Readonly<Record<'frequency' | 'gain' | 'q', Parameter>> => ({
  frequency: {
    kind: 'number',
    group,
    label: 'Frequency',
    about: 'Centre of a bell, half-gain point of a shelf, -3 dB point of a cut.',
    unit: 'Hz',
    min: 10,
    max: 22000,
    default: FREQUENCIES[band],
    scale: 'logarithmic',
    digits: 0,
  },
  gain: {
    kind: 'number',
    group,
    label: 'Gain',
    about: 'Boost or cut of a bell or shelf; cuts do not use it.',
    unit: 'dB',
    min: -24,
    max: 24,
    default: 0,
    scale: 'linear',
    digits: 1,
  },
  q: {
    kind: 'number',
    group,
    label: 'Q',
    about: 'How narrow a bell or how steep a shelf is; above 0.71 a shelf overshoots. Cuts do not use it.',
    unit: '',
    min: 0.1,
    max: 20,
    default: Math.SQRT1_2,
    scale: 'logarithmic',
    digits: 2,
  },
});

const bandParameters = (band: BandNumber): Readonly<Record<Field, Parameter>> => {
  const group = `Band ${band}`;
  return {
    on: {
      kind: 'switch',
      group,
      label: 'On',
      about: 'Switches the band; an off band changes nothing.',
      default: false,
    },
    shape: {
      kind: 'choice',
      group,
      label: 'Shape',
      about: 'A bell around the frequency, a shelf below or above it, or a cut of what lies below or above it.',
      choices: SHAPES,
      default: 'bell',
    },
    ...numbersOf(band, group),
    slope: {
      kind: 'choice',
      group,
      label: 'Slope',
      about: 'How steeply a cut falls; bells and shelves do not use it.',
      choices: SLOPES.map((slope) => `${slope} dB/oct`),
      default: '12 dB/oct',
    },
    mode: {
      kind: 'choice',
      group,
      label: 'Mode',
      about: 'Works on both channels, on what they share (mid), or on what they differ in (side).',
      choices: MODES,
      default: 'stereo',
    },
  };
};

const parameters = Object.fromEntries(
  BANDS.flatMap((band) =>
    Object.entries(bandParameters(band)).map(([field, parameter]) => [`band${band}.${field}`, parameter]),
  ),
) as EqParameters;

/** Parameter ids of each band, written out once: kernels read them often. */
const IDS = BANDS.map(
  (band) =>
    ({
      on: `band${band}.on`,
      shape: `band${band}.shape`,
      frequency: `band${band}.frequency`,
      gain: `band${band}.gain`,
      q: `band${band}.q`,
      slope: `band${band}.slope`,
      mode: `band${band}.mode`,
    }) as const,
);

const bandsOf = (values: EqValues): readonly BandSettings[] =>
  IDS.map((id) => ({
    on: values[id.on] === 1,
    shape: SHAPES[values[id.shape]]!,
    hz: values[id.frequency],
    gainDb: values[id.gain],
    q: values[id.q],
    order: SLOPES[values[id.slope]]! / 6,
    channels: CHANNELS[values[id.mode]]!,
  }));

const activeBands = (values: EqValues): readonly BandSettings[] => bandsOf(values).filter(isActive);

const sectionsOf = (bands: readonly BandSettings[], sampleRate: number): readonly Coefficients[] =>
  bands.flatMap((band) => designBand(band, sampleRate));

/** Gain at `hz` of the settled EQ for the mid or the side signal, dB, from the coefficients that the kernel runs. */
export const responseDb = (values: EqValues, hz: number, sampleRate: number, which: 'mid' | 'side'): number => {
  const other = which === 'mid' ? 'right' : 'left';
  const bands = activeBands(values).filter(({ channels }) => channels !== other);
  return cascadeDb(sectionsOf(bands, sampleRate), hz, sampleRate);
};

class EqKernel implements Kernel<EqParameters> {
  private readonly bands: readonly FilterBand[];

  constructor(values: EqValues, sampleRate: number) {
    this.bands = bandsOf(values).map((settings) => new FilterBand(settings, sampleRate));
  }

  set(values: EqValues): void {
    bandsOf(values).forEach((settings, index) => this.bands[index]!.set(settings));
  }

  control(): void {
    for (const band of this.bands) band.control();
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    this.runBoth(left, right, start, end);
    let sided = false;
    for (const band of this.bands) sided ||= !band.idle && band.channels !== 'both';
    if (sided) this.runMidSide(left, right, start, end);
  }

  reset(): void {
    for (const band of this.bands) band.reset();
  }

  /** Stereo bands in order; sections of steady bands run two at a time. */
  private runBoth(left: Float64Array, right: Float64Array, start: number, end: number): void {
    let waiting: Section | null = null;
    for (const band of this.bands) {
      if (band.idle || band.channels !== 'both') continue;
      if (!band.steady) {
        if (waiting) runStereo(waiting, left, right, start, end);
        waiting = null;
        band.process(left, right, start, end);
        continue;
      }
      for (let k = 0; k < band.count; k++) {
        const section = band.sections[k]!;
        if (waiting) runStereoPair(waiting, section, left, right, start, end);
        waiting = waiting ? null : section;
      }
    }
    if (waiting) runStereo(waiting, left, right, start, end);
  }

  /** Bands on mid or side: M = (L + R) / 2, S = (L - R) / 2, and back L = M + S, R = M - S. */
  private runMidSide(left: Float64Array, right: Float64Array, start: number, end: number): void {
    for (let i = start; i < end; i++) {
      const l = left[i]!;
      const r = right[i]!;
      left[i] = (l + r) / 2;
      right[i] = (l - r) / 2;
    }
    for (const band of this.bands) if (band.channels !== 'both') band.process(left, right, start, end);
    for (let i = start; i < end; i++) {
      const mid = left[i]!;
      const side = right[i]!;
      left[i] = mid + side;
      right[i] = mid - side;
    }
  }
}

export const processor = defineProcessor({
  id: 'eq',
  label: 'EQ',
  about: 'Eight bands of bells, shelves and cuts, each on the stereo signal, its mid or its side.',
  parameters,
  start: {
    'band1.on': true,
    'band1.shape': 'low cut',
    'band2.shape': 'low shelf',
    'band3.on': true,
    'band3.gain': -2,
    'band3.q': 1,
    'band6.on': true,
    'band6.gain': 2,
    'band6.q': 1,
    'band7.shape': 'high shelf',
    'band8.shape': 'high cut',
  },
  latency: () => 0,
  tail: (values, sampleRate) => cascadeTail(sectionsOf(activeBands(values), sampleRate)),
  picture: {
    kind: 'frequency',
    x: [20, 20000],
    y: [-24, 24],
    drawn: 'line',
    points: (values, sampleRate, count) => {
      const bands = activeBands(values).filter(({ channels }) => channels !== 'right');
      const sections = sectionsOf(bands, sampleRate);
      const top = limitHz(20000, sampleRate);
      return Array.from({ length: count }, (_, index) => {
        const hz = 20 * (top / 20) ** (index / Math.max(1, count - 1));
        return [hz, cascadeDb(sections, hz, sampleRate)] as const;
      });
    },
  },
  createKernel: (values, sampleRate) => new EqKernel(values, sampleRate),
});
