import { type BandChannels, type BandSettings, FilterBand, isActive } from '../filters/filter-band.ts';
import { BandDynamics, type DynamicsSettings } from '../dynamics/band-dynamics.ts';
import { cascadeDb, designBand, hasGain, isCut, limitHz, type Shape, SHAPES } from '../filters/band-design.ts';
import { addedBell, eqHandles, type HeldBand } from '../filters/eq-handles.ts';
import { cascadeTail } from '../reverb/decay.ts';
import { choice, decibels, hertz, milliseconds, quality, ratio, toggle } from '../core/parameter-builders.ts';
import type { Coefficients } from '../filters/biquad.ts';
import { defineProcessor, type Kernel } from '../core/processor.ts';
import { KEEP_LOUDNESS, LoudnessMatch, MOST_FILTERED_DB } from '../dynamics/loudness-match.ts';
import type { Parameter, Values } from '../core/parameter.ts';
import { runStereo, runStereoPair, type Section } from '../filters/section.ts';
import { toLeftRight, toMidSide } from '../core/mid-side.ts';

const BANDS = [1, 2, 3, 4, 5, 6, 7, 8] as const;
type BandNumber = (typeof BANDS)[number];
type DynamicField = 'dynamic' | 'threshold' | 'share' | 'ratio' | 'range' | 'attack' | 'release';
type Field = 'on' | 'shape' | 'frequency' | 'gain' | 'q' | 'slope' | 'mode' | DynamicField;
type EqParameters = Readonly<Record<`band${BandNumber}.${Field}` | 'design' | 'keepLoudness', Parameter>>;
type EqValues = Values<EqParameters>;

/** Slopes of the cuts, dB an octave: 6 for each order of the filter. */
const SLOPES = [6, 12, 18, 24, 30, 36, 42, 48] as const;
const MODES = ['stereo', 'mid', 'side', 'left', 'right'] as const;
/** In the order of MODES. */
const CHANNELS: readonly BandChannels[] = ['both', 'mid', 'side', 'left', 'right'];
const DESIGNS = ['cookbook', 'matched'] as const;
const DYNAMICS = ['off', 'down', 'up'] as const;
/** Default frequencies of the bands, Hz: about an octave and a half apart. */
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

/** A parameter of a band that only some shapes use. */
const ofShapes = (band: BandNumber, uses: (shape: Shape) => boolean): Required<Pick<Parameter, 'countsWhile'>> => ({
  countsWhile: { parameter: `band${band}.shape`, is: SHAPES.filter(uses) },
});

const numbersOf = (band: BandNumber, group: string): Readonly<Record<'frequency' | 'gain' | 'q', Parameter>> => ({
  frequency: hertz('Frequency', [10, 22000], {
    group,
    default: FREQUENCIES[band],
    about: 'Centre of a bell, band-pass or notch, half-gain point of a shelf, pivot of a tilt, -3 dB point of a cut.',
  }),
  gain: decibels('Gain', [-24, 24], {
    group,
    ...ofShapes(band, hasGain),
    about:
      'Boost or cut of a bell or shelf; a tilt gives half of it above and takes half below. Other shapes do not use it.',
  }),
  q: quality('Q', [0.1, 20], {
    group,
    ...ofShapes(band, (shape) => !isCut(shape)),
    default: Math.SQRT1_2,
    about:
      'How narrow a bell, band-pass or notch is, or how steep a shelf or tilt; above 0.71 these overshoot. Cuts do not use it.',
  }),
});

/** What the parameters of a band's dynamics share: they have no effect while the band's gain is fixed. */
type Moving = Required<Pick<Parameter, 'group' | 'countsWhile'>>;

/** The share of the whole counts above its lowest setting only, dB. */
const SHARE_OFF = -60;

const movesOf = (moving: Moving): Readonly<Record<Exclude<DynamicField, 'dynamic'>, Parameter>> => ({
  threshold: decibels('Threshold', [-80, 0], {
    ...moving,
    default: -30,
    followsLevel: true,
    about: 'RMS level of the band at the input of the EQ above which the gain moves.',
  }),
  share: decibels('Relative threshold', [SHARE_OFF, 0], {
    ...moving,
    default: SHARE_OFF,
    about:
      'Level of the band relative to the whole sound above which the gain may move: it separates esses from bright vowels. Off at -60 dB.',
  }),
  ratio: ratio('Ratio', [1, 20], {
    ...moving,
    default: 2,
    about: 'How far the gain moves: by 1 - 1 / ratio dB for each dB above the threshold.',
  }),
  range: decibels('Range', [0, 24], { ...moving, default: 12, about: 'Largest change of the gain from its setting.' }),
  attack: milliseconds('Attack', [1, 250], {
    ...moving,
    default: 10,
    digits: 1,
    about: 'Time for 63 % of the gain change above the threshold.',
  }),
  release: milliseconds('Release', [10, 3000], {
    ...moving,
    default: 150,
    about: 'Time for 63 % of the return to the set gain.',
  }),
});

const dynamicsOf = (band: BandNumber, group: string): Readonly<Record<DynamicField, Parameter>> => ({
  dynamic: choice('Dynamic', DYNAMICS, {
    group,
    ...ofShapes(band, hasGain),
    default: 'off',
    about: 'Moves the gain of a bell, shelf or tilt down or up while the level of the band is above the threshold.',
  }),
  ...movesOf({ group, countsWhile: { parameter: `band${band}.dynamic`, is: ['down', 'up'] } }),
});

const bandParameters = (band: BandNumber): Readonly<Record<Field, Parameter>> => {
  const group = `Band ${band}`;
  return {
    on: toggle('On', { group, about: 'Switches the band; an off band changes nothing.' }),
    shape: choice('Shape', SHAPES, {
      group,
      default: 'bell',
      about: 'Bell, low or high shelf, low or high cut, tilt around the frequency, band-pass or notch.',
    }),
    ...numbersOf(band, group),
    slope: choice(
      'Slope',
      SLOPES.map((slope) => `${slope} dB/oct`),
      {
        group,
        ...ofShapes(band, isCut),
        default: '12 dB/oct',
        about: 'How steeply a cut falls; other shapes do not use it.',
      },
    ),
    mode: choice('Mode', MODES, {
      group,
      default: 'stereo',
      about: 'Works on both channels, on the mid or side signal, or on the left or right channel.',
    }),
    ...dynamicsOf(band, group),
  };
};

const parameters = Object.fromEntries([
  ...BANDS.flatMap((band) =>
    Object.entries(bandParameters(band)).map(([field, parameter]) => [`band${band}.${field}`, parameter] as const),
  ),
  [
    'design',
    choice('Design', DESIGNS, {
      group: 'All bands',
      default: 'matched',
      about:
        'Matched filters keep their analogue shape up to 20 kHz; cookbook filters get narrower near the top, at half the CPU load.',
    }),
  ],
  ['keepLoudness', { ...KEEP_LOUDNESS, group: 'All bands' }],
]) as EqParameters;

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
      dynamic: `band${band}.dynamic`,
      threshold: `band${band}.threshold`,
      share: `band${band}.share`,
      ratio: `band${band}.ratio`,
      range: `band${band}.range`,
      attack: `band${band}.attack`,
      release: `band${band}.release`,
    }) as const,
);

const bandsOf = (values: EqValues): readonly BandSettings[] =>
  IDS.map((id) => {
    const shape = SHAPES[values[id.shape]]!;
    return {
      on: values[id.on] === 1,
      shape,
      hz: values[id.frequency],
      gainDb: values[id.gain],
      q: values[id.q],
      order: SLOPES[values[id.slope]]! / 6,
      channels: CHANNELS[values[id.mode]]!,
      matched: DESIGNS[values.design] === 'matched',
      dynamic: values[id.dynamic] !== 0 && hasGain(shape),
    };
  });

const dynamicsSettingsOf = (values: EqValues): readonly DynamicsSettings[] =>
  bandsOf(values).map(({ on, dynamic, shape, hz, q, channels }, index) => {
    const id = IDS[index]!;
    return {
      on: on && dynamic === true,
      shape,
      hz,
      q,
      channels,
      thresholdDb: values[id.threshold],
      shareDb: values[id.share] > SHARE_OFF ? values[id.share] : null,
      slope: 1 - 1 / values[id.ratio],
      rangeDb: values[id.range],
      attackSeconds: values[id.attack] / 1000,
      releaseSeconds: values[id.release] / 1000,
      direction: DYNAMICS[values[id.dynamic]] === 'up' ? 1 : -1,
    };
  });

const activeBands = (values: EqValues): readonly BandSettings[] => bandsOf(values).filter(isActive);

const heldBands = (values: EqValues): HeldBand[] =>
  bandsOf(values).map((band, index) => ({ ...band, number: BANDS[index]! }));

const sectionsOf = (bands: readonly BandSettings[], sampleRate: number): readonly Coefficients[] =>
  bands.flatMap((band) => designBand(band, sampleRate));

/** Tail of the active bands, samples; a dynamic band may have any gain between its setting and its range. */
const tailOf = (values: EqValues, sampleRate: number): number => {
  const moved = dynamicsSettingsOf(values);
  const bands = bandsOf(values).flatMap((band, index) => {
    if (!isActive(band)) return [];
    const { on, rangeDb, direction } = moved[index]!;
    return on ? [band, { ...band, gainDb: band.gainDb + direction * rangeDb }] : [band];
  });
  return cascadeTail(sectionsOf(bands, sampleRate));
};

/**
 * Gain at `hz` of the settled EQ with its dynamic bands at rest, dB, from the coefficients that the kernel runs: of the
 * mid or the side signal by the stereo bands and those on it, or of one channel by the stereo bands and those on it.
 */
export const responseDb = (
  values: EqValues,
  hz: number,
  sampleRate: number,
  which: 'mid' | 'side' | 'left' | 'right',
): number => {
  const bands = activeBands(values).filter(({ channels }) => channels === 'both' || channels === which);
  return cascadeDb(sectionsOf(bands, sampleRate), hz, sampleRate);
};

const isSided = ({ channels }: FilterBand): boolean => channels === 'mid' || channels === 'side';

/** Stereo bands run first, then those on the left or right channel, then those on mid or side. */
export class EqKernel implements Kernel<EqParameters> {
  private readonly bands: readonly FilterBand[];
  private readonly dynamics: readonly BandDynamics[];
  private readonly loudness: LoudnessMatch;
  /** Frames of the control block already done. */
  private position = 0;
  /** How far each band's gain is from rest at the end of the control block, dB: for drawing. */
  readonly shiftsDb: Float64Array = new Float64Array(BANDS.length);

  constructor(values: EqValues, sampleRate: number) {
    this.bands = bandsOf(values).map((settings) => new FilterBand(settings, sampleRate));
    this.dynamics = dynamicsSettingsOf(values).map((settings) => new BandDynamics(settings, sampleRate));
    this.loudness = new LoudnessMatch(values.keepLoudness === 1, sampleRate, MOST_FILTERED_DB);
  }

  set(values: EqValues): void {
    bandsOf(values).forEach((settings, index) => this.bands[index]!.set(settings));
    dynamicsSettingsOf(values).forEach((settings, index) => this.dynamics[index]!.set(settings));
    this.loudness.set(values.keepLoudness === 1);
  }

  control(): void {
    const { bands, dynamics, shiftsDb } = this;
    this.position = 0;
    this.loudness.control();
    for (let n = 0; n < bands.length; n++) {
      shiftsDb[n] = dynamics[n]!.control();
      bands[n]!.shift(shiftsDb[n]!);
      bands[n]!.control();
    }
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    this.loudness.hear(left, right, start, end);
    for (const band of this.dynamics) band.hear(left, right, start, end);
    this.runBoth(left, right, start, end);
    let sided = false;
    for (const band of this.bands) {
      if (band.idle) continue;
      if (band.channels === 'left' || band.channels === 'right') band.process(left, right, start, end);
      sided ||= isSided(band);
    }
    if (sided) this.runMidSide(left, right, start, end);
    this.loudness.level(left, right, start, end, this.position);
    this.position += end - start;
  }

  reset(): void {
    for (const band of this.bands) band.reset();
    for (const band of this.dynamics) band.reset();
    this.shiftsDb.fill(0);
    this.loudness.reset();
    this.position = 0;
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

  private runMidSide(left: Float64Array, right: Float64Array, start: number, end: number): void {
    toMidSide(left, right, start, end);
    for (const band of this.bands) if (isSided(band)) band.process(left, right, start, end);
    toLeftRight(left, right, start, end);
  }
}

export const processor = defineProcessor({
  id: 'eq',
  label: 'EQ',
  about:
    'Eight bands of bells, shelves, tilts, cuts, band-passes and notches, each on stereo, mid, side, left or right; each may be dynamic.',
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
  tail: tailOf,
  picture: {
    kind: 'frequency',
    x: [20, 20000],
    y: [-24, 24],
    drawn: 'line',
    points: (values, sampleRate, count) => {
      // The response of mid and left; where no band is on these, that of side and right.
      const active = activeBands(values);
      const bands = active.filter(({ channels }) => channels !== 'side' && channels !== 'right');
      const sections = sectionsOf(bands.length > 0 ? bands : active, sampleRate);
      const top = limitHz(20000, sampleRate);
      return Array.from({ length: count }, (_, index) => {
        const hz = 20 * (top / 20) ** (index / Math.max(1, count - 1));
        return [hz, cascadeDb(sections, hz, sampleRate)] as const;
      });
    },
    handles: (values) => eqHandles(heldBands(values)),
    add: (values, place) => addedBell(heldBands(values), place),
  },
  createKernel: (values, sampleRate) => new EqKernel(values, sampleRate),
});
