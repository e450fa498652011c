import { BS1770, NOT_TWO, NOT_WEIGHTED, OWN, PRACTICE, SILENT } from './definition-words.ts';
import type { FigureDefinition } from './figure-definition.ts';

/** What the highest momentary and short-term loudness share, by the length of their windows. */
const highestIn = (window: '0.4 s' | '3 s') =>
  ({
    unit: 'LUFS',
    definition: `Highest K-weighted power in any ${window}, read every 10 ms, without gate.`,
    source: `${BS1770}; EBU Tech 3341`,
    range: 'any',
    nullWhen: `shorter than ${window}, ${SILENT}, ${NOT_WEIGHTED}`,
    decimals: 1,
    needs: 'loudest',
  }) as const;

/** Every figure, in the order in which tables show them. */
const definitions = {
  integratedLufs: {
    label: 'Integrated loudness',
    unit: 'LUFS',
    definition:
      'Loudness of the whole: mean K-weighted power of those 400 ms blocks (every 100 ms) that lie above -70 LUFS and above the mean of the rest less 10 LU.',
    source: `${BS1770}, Annex 1`,
    range: 'above -70',
    nullWhen: `shorter than 0.4 s, nothing above -70 LUFS, ${NOT_WEIGHTED}`,
    decimals: 1,
    short: 'Loudness',
    least: -70,
    places: ['findings', 'ledger', 'files', 'targets'],
    sweepSpan: 3,
    knee: true,
    advice: {
      moves:
        'The level of all paths, most in loud sections: below the mean less 10 LU nothing counts. Compression and limiting let it rise without higher peaks.',
      usual:
        'Broadcast: -23. Streaming turns songs to about -14, so louder gains nothing there. An unmastered mix: -24 to -16',
      source: `EBU R 128 (2020) for broadcast, else ${PRACTICE}`,
    },
  },
  loudnessRangeLu: {
    label: 'LRA',
    unit: 'LU',
    definition:
      'Loudness range: spread of the short-term loudness, read every 100 ms: its 95th less its 10th percentile, without what is below -70 LUFS or 20 LU below the mean.',
    source: 'EBU Tech 3342',
    range: '0 and up; unsettled on less than a minute of sound',
    nullWhen: `shorter than 3 s, nothing above -70 LUFS, ${NOT_WEIGHTED}`,
    decimals: 1,
    least: 0,
    places: ['findings', 'ledger', 'files', 'targets'],
    sweepSpan: 2,
    knee: true,
    advice: {
      moves:
        'Automation and arrangement, from quiet verse to loud chorus; compression of the whole mix narrows it, riding a path by section widens it.',
      usual: 'Dense songs 3 to 6, others 6 to 12, film and orchestra above 15',
      source: PRACTICE,
    },
  },
  maxMomentaryLufs: {
    label: 'Max momentary',
    ...highestIn('0.4 s'),
    places: ['more findings', 'targets'],
    advice: {
      moves: 'The loudest 0.4 s: a drum fill, the first beat of a chorus.',
      usual: '4 to 8 LU above the integrated loudness',
      source: PRACTICE,
    },
  },
  maxShortTermLufs: {
    label: 'Max short-term',
    ...highestIn('3 s'),
    places: ['findings', 'targets'],
    advice: {
      moves: 'The loudest 3 s, mostly of the last chorus.',
      usual: '2 to 5 LU above the integrated loudness',
      source: PRACTICE,
    },
  },
  truePeakDbtp: {
    label: 'True peak',
    unit: 'dBTP',
    definition:
      'Highest absolute value of the waveform at and between the samples, on a grid 32 times finer than the samples.',
    source: `${BS1770}, Annex 2, with a longer interpolator`,
    range: 'at least the sample peak; above 0 it clips on conversion',
    nullWhen: SILENT,
    decimals: 1,
    needs: 'peaks',
    places: ['findings', 'files', 'targets'],
    sweepSpan: 3,
    advice: {
      moves: 'Transients of drums, and peaks of several paths that coincide; the trim shifts it, a limiter lowers it.',
      usual: 'At most -1 in what is delivered; an unmastered mix has -6 to -3, as headroom for mastering',
      source: `EBU R 128 (2020) for -1, else ${PRACTICE}`,
    },
  },
  samplePeakDbfs: {
    label: 'Sample peak',
    unit: 'dBFS',
    definition: 'Highest absolute sample value of any channel; full scale 1.0 is 0 dB.',
    source: 'common practice',
    range: 'above 0 only in floating-point files',
    nullWhen: SILENT,
    decimals: 1,
    needs: 'peaks',
    places: ['more findings'],
    advice: {
      moves: 'As the true peak, which is above it by up to some dB where peaks fall between samples.',
      usual: 'At or little below the true peak',
      source: PRACTICE,
    },
  },
  rmsDbfs: {
    label: 'RMS',
    unit: 'dBFS',
    definition: 'Root mean square of all samples of all channels; rms 1.0 is 0 dB, so a full-scale sine reads -3.01.',
    source: OWN,
    range: 'at most the sample peak',
    nullWhen: SILENT,
    decimals: 1,
    places: ['more findings'],
    advice: {
      moves: 'The level of all paths, most of the lows: they carry most of the power.',
      usual: '-24 to -18 unmastered, -14 to -8 in loud masters',
      source: PRACTICE,
    },
  },
  crestDb: {
    label: 'Crest',
    unit: 'dB',
    definition:
      'Sample peak less RMS of the whole: silence or a tail after the song raises it, and leaves PLR as it is.',
    source: OWN,
    range: '0 and up; a sine 3.01, a square wave 0',
    nullWhen: SILENT,
    decimals: 1,
    needs: 'peaks',
    least: 0,
    places: ['findings', 'ledger', 'files', 'targets'],
    sweepSpan: 3,
    knee: true,
    advice: {
      moves:
        'Sharp attacks raise it; compression, saturation and limiting lower it, parallel compression least of these.',
      usual: '14 to 20 unmastered, 8 to 12 in loud masters',
      source: PRACTICE,
    },
  },
  plrDb: {
    label: 'PLR',
    unit: 'dB',
    definition: 'Peak to loudness ratio: true peak less integrated loudness.',
    source: 'common practice',
    range: 'any',
    nullWhen: 'as integrated loudness',
    decimals: 1,
    needs: 'peaks',
    places: ['findings', 'targets'],
    advice: {
      moves: 'As crest, with loudness in place of level: it falls as a mix is made louder under the same peaks.',
      usual: '12 to 18 unmastered, 7 to 10 in loud masters',
      source: PRACTICE,
    },
  },
  dcOffset: {
    label: 'DC offset',
    unit: '',
    definition: 'Mean of the samples of the channel in which it is farthest from 0; full scale is 1.',
    source: OWN,
    range: '-1 to 1 within full scale',
    nullWhen: 'no samples',
    decimals: 5,
    notSearched: true,
    places: ['more findings'],
    advice: {
      moves: 'Asymmetric distortion without a filter after it, and faulty converters; a low cut takes it out.',
      usual: 'Between -0.0005 and 0.0005',
      source: PRACTICE,
    },
  },
  clippedSamples: {
    label: 'Clipped samples',
    unit: 'samples',
    definition:
      'Samples in runs of two or more in a row, in one channel and on one side of zero, at or beyond the greatest 16-bit value (32767/32768).',
    source: OWN,
    range: '0 and up, all channels together',
    nullWhen: 'never',
    decimals: 0,
    short: 'Clipped',
    needs: 'peaks',
    notSearched: true,
    places: ['more findings', 'files'],
    advice: {
      moves: 'Levels over full scale in a file of whole numbers, or clipping before it.',
      usual: '0',
      source: PRACTICE,
    },
  },
  'stereo.correlation': {
    label: 'Correlation',
    unit: '',
    definition: 'Sum of left times right over the root of the product of their energies, over the whole.',
    source: 'common practice',
    range: '-1 (opposite) through 0 (unrelated) to +1 (identical)',
    nullWhen: `a channel is silent, ${NOT_TWO}`,
    decimals: 2,
    least: -1,
    most: 1,
    places: ['findings', 'targets'],
    advice: {
      moves: 'Pans, stereo reverb and wideners lower it, centred paths raise it; below 0 much is lost in mono.',
      usual: '0.3 to 0.9; not below 0 for long',
      source: PRACTICE,
    },
  },
  'stereo.sideToMidDb': {
    label: 'Width (side to mid)',
    unit: 'dB',
    definition: 'Energy of side (half of left minus right) over the energy of mid (half of left plus right).',
    source: OWN,
    range: '0 when left and right are unrelated; lower is narrower',
    nullWhen: `left and right are identical or opposite, ${NOT_TWO}`,
    decimals: 1,
    short: 'Width',
    places: ['findings', 'ledger', 'targets'],
    sweepSpan: 3,
    knee: true,
    advice: {
      moves: 'Pans and width of single paths, and the level of wide paths against centred ones.',
      usual: '-14 to -6; above -3 mono suffers',
      source: PRACTICE,
    },
  },
  'stereo.balanceDb': {
    label: 'Balance',
    unit: 'dB',
    definition: 'Energy of the right channel over that of the left.',
    source: OWN,
    range: 'positive leans right',
    nullWhen: `a channel is silent, ${NOT_TWO}`,
    decimals: 1,
    places: ['findings', 'targets'],
    advice: {
      moves: 'Paths panned to one side without a counterpart on the other.',
      usual: '-0.5 to 0.5 over a whole song',
      source: PRACTICE,
    },
  },
  'stereo.monoLossLu': {
    label: 'Mono loss',
    unit: 'LU',
    definition:
      'K-weighted energy of left plus right over twice that of the two apart, over the whole and without gate: the loudness lost in mono beyond what identical channels lose.',
    source: `${OWN}, with the weighting of ${BS1770}`,
    range: '0 (alike) through -3.01 (unrelated) down',
    nullWhen: `left and right cancel, ${NOT_TWO}, sample rate below 4 kHz`,
    decimals: 1,
    most: 0,
    places: ['findings', 'ledger', 'targets'],
    sweepSpan: 1,
    knee: true,
    advice: {
      moves: 'Short delays between the sides, an inverted side and wideners lower it: more is lost in mono.',
      usual: '0 to -1; below -2 parts of the mix vanish on one loudspeaker',
      source: PRACTICE,
    },
  },
  'bands.levelDb': {
    label: 'Band level',
    unit: 'dB',
    definition:
      'Long-term average power in a third octave, channels summed; rms 1.0 is 0 dB. All bands add up to RMS for one channel and to RMS + 3.01 dB for two, less what lies outside them. Frames of 0.5 to 1 s that overlap by a quarter.',
    source: 'bands of IEC 61260-1, base 10; the averaging is defined here',
    range: '25 Hz to 20 kHz as far as it lies below half the sample rate',
    nullWhen: 'the band holds nothing (240 dB below the whole)',
    decimals: 1,
  },
  'bands.sideToMidDb': {
    label: 'Band side to mid',
    unit: 'dB',
    definition: 'Side over mid energy within a third octave.',
    source: 'as band level',
    range: 'as side to mid',
    nullWhen: `side or mid holds nothing in the band, ${NOT_TWO}`,
    decimals: 1,
  },
} as const satisfies Readonly<Record<string, FigureDefinition>>;

/** Name of every figure, as reasons and tables key it: "plrDb", "stereo.correlation", "bands.levelDb". */
export type FigureKey = keyof typeof definitions;
/** Figures that are one number each. */
export type SingleKey = Exclude<FigureKey, `bands.${string}`>;
/** Those of them that do not belong to the stereo pair. */
export type PlainKey = Exclude<SingleKey, `stereo.${string}`>;
/** Figures that depend on single samples, which are computed later than the rest for a blend. */
export type PeakKey = {
  [K in FigureKey]: (typeof definitions)[K] extends { readonly needs: 'peaks' } ? K : never;
}[FigureKey];

/** The plain figures in JSON: a number, or null where the figure does not exist. */
export type PlainFigures = {
  readonly [K in PlainKey]: (typeof definitions)[K] extends { readonly nullWhen: 'never' } ? number : number | null;
};
/** The part of keys after "stereo.". */
export type StereoKey = { [K in FigureKey]: K extends `stereo.${infer Name}` ? Name : never }[FigureKey];

export const DEFINITIONS: Readonly<Record<FigureKey, FigureDefinition>> = definitions;

/** All keys, in the order of `DEFINITIONS`. */
export const FIGURE_KEYS = Object.keys(DEFINITIONS) as readonly FigureKey[];
/** Figures that are one number each; the bands are a table of their own. */
export const SINGLE_FIGURES = FIGURE_KEYS.filter((key): key is SingleKey => !key.startsWith('bands.'));
export const PLAIN_FIGURES = SINGLE_FIGURES.filter((key): key is PlainKey => !key.startsWith('stereo.'));
export const STEREO_FIGURES = SINGLE_FIGURES.flatMap((key) =>
  key.startsWith('stereo.') ? [key.slice('stereo.'.length) as StereoKey] : [],
);
export const PEAK_FIGURES = FIGURE_KEYS.filter((key): key is PeakKey => DEFINITIONS[key].needs === 'peaks');
