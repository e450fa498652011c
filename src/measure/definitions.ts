import type { BandDifference, Details } from './details.ts';
import type { BandFigures, Figures, StereoFigures } from './figures.ts';
import type { BandSum, Match } from './match.ts';
import type { TimeSeries } from './time-series.ts';

/** Name of every figure, as reasons and tables key it: "plrDb", "stereo.correlation", "bands.levelDb". */
export type FigureKey =
  | Exclude<keyof Figures, 'stereo' | 'bands'>
  | `stereo.${keyof StereoFigures}`
  | `bands.${Exclude<keyof BandFigures, 'hz'>}`;

/** What one figure is: the words that screen, report, command line and documents all use. */
export interface FigureDefinition {
  readonly label: string;
  /** Empty for a plain number. */
  readonly unit: string;
  /** One sentence. */
  readonly definition: string;
  readonly source: string;
  /** Values that the figure can take. */
  readonly range: string;
  /** When the figure does not exist. */
  readonly nullWhen: string;
  /** Digits after the point worth showing. */
  readonly decimals: number;
}

const BS1770 = 'ITU-R BS.1770-5';
const OWN = 'defined here';
const SILENT = 'silence';
const NOT_WEIGHTED = 'sample rate below 4 kHz, more than six channels';
const NOT_TWO = 'any number of channels but two';

/** Every figure, in the order in which tables show them. */
export const DEFINITIONS: Readonly<Record<FigureKey, FigureDefinition>> = {
  integratedLufs: {
    label: 'Integrated loudness',
    unit: 'LUFS',
    definition:
      'Loudness of the whole: mean K-weighted power of those 400 ms blocks (every 100 ms) that lie above -70 LUFS and above the mean of the rest less 10 LU.',
    source: `${BS1770}, Annex 1`,
    range: 'above -70',
    nullWhen: `shorter than 0.4 s, nothing above -70 LUFS, ${NOT_WEIGHTED}`,
    decimals: 1,
  },
  loudnessRangeLu: {
    label: 'Loudness range',
    unit: 'LU',
    definition:
      'Spread of the short-term loudness, read every 100 ms: its 95th less its 10th percentile, without what is below -70 LUFS or 20 LU below the mean.',
    source: 'EBU Tech 3342',
    range: '0 and up; unsettled on less than a minute of sound',
    nullWhen: `shorter than 3 s, nothing above -70 LUFS, ${NOT_WEIGHTED}`,
    decimals: 1,
  },
  maxMomentaryLufs: {
    label: 'Highest momentary loudness',
    unit: 'LUFS',
    definition: 'Greatest K-weighted power in any 400 ms, looked at every 10 ms, without gate.',
    source: `${BS1770}; EBU Tech 3341`,
    range: 'any',
    nullWhen: `shorter than 0.4 s, ${SILENT}, ${NOT_WEIGHTED}`,
    decimals: 1,
  },
  maxShortTermLufs: {
    label: 'Highest short-term loudness',
    unit: 'LUFS',
    definition: 'Greatest K-weighted power in any 3 s, looked at every 10 ms, without gate.',
    source: `${BS1770}; EBU Tech 3341`,
    range: 'any',
    nullWhen: `shorter than 3 s, ${SILENT}, ${NOT_WEIGHTED}`,
    decimals: 1,
  },
  truePeakDbtp: {
    label: 'True peak',
    unit: 'dBTP',
    definition: 'Greatest size of the wave between and at the samples, on a grid 32 times finer than they are.',
    source: `${BS1770}, Annex 2, with a longer interpolator`,
    range: 'at least the sample peak; above 0 it clips on conversion',
    nullWhen: SILENT,
    decimals: 1,
  },
  samplePeakDbfs: {
    label: 'Sample peak',
    unit: 'dBFS',
    definition: 'Size of the greatest sample of any channel; full scale 1.0 is 0 dB.',
    source: 'common practice',
    range: 'above 0 only in floating-point files',
    nullWhen: SILENT,
    decimals: 1,
  },
  rmsDbfs: {
    label: 'RMS',
    unit: 'dBFS',
    definition: 'Root mean square of all samples of all channels; rms 1.0 is 0 dB, so a full-scale sine reads -3.01.',
    source: OWN,
    range: 'at most the sample peak',
    nullWhen: SILENT,
    decimals: 1,
  },
  crestDb: {
    label: 'Crest',
    unit: 'dB',
    definition: 'Sample peak less RMS.',
    source: OWN,
    range: '0 and up; a sine 3.01, a square wave 0',
    nullWhen: SILENT,
    decimals: 1,
  },
  plrDb: {
    label: 'Peak to loudness',
    unit: 'dB',
    definition: 'True peak less integrated loudness.',
    source: 'common practice',
    range: 'any',
    nullWhen: 'as integrated loudness',
    decimals: 1,
  },
  dcOffset: {
    label: 'DC offset',
    unit: '',
    definition: 'Mean of the samples, of the channel where it is farthest from 0; full scale is 1.',
    source: OWN,
    range: '-1 to 1 within full scale',
    nullWhen: 'no samples',
    decimals: 5,
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
  },
  'stereo.correlation': {
    label: 'Correlation',
    unit: '',
    definition: 'Sum of left times right over the root of the product of their energies, over the whole.',
    source: 'common practice',
    range: '-1 (opposite) through 0 (unrelated) to +1 (alike)',
    nullWhen: `a channel is silent, ${NOT_TWO}`,
    decimals: 2,
  },
  'stereo.sideToMidDb': {
    label: 'Side to mid',
    unit: 'dB',
    definition: 'Energy of half the difference of left and right over the energy of half their sum.',
    source: OWN,
    range: '0 when left and right are unrelated; lower is narrower',
    nullWhen: `left and right are identical or opposite, ${NOT_TWO}`,
    decimals: 1,
  },
  'stereo.balanceDb': {
    label: 'Balance',
    unit: 'dB',
    definition: 'Energy of the right channel over that of the left.',
    source: OWN,
    range: 'positive leans right',
    nullWhen: `a channel is silent, ${NOT_TWO}`,
    decimals: 1,
  },
  'stereo.monoLossLu': {
    label: 'Mono loss',
    unit: 'LU',
    definition:
      'K-weighted energy of left plus right over twice that of the two apart, over the whole and without gate: what folding to mono costs beyond what identical channels would lose.',
    source: `${OWN}, with the weighting of ${BS1770}`,
    range: '0 (alike) through -3.01 (unrelated) down',
    nullWhen: `left and right cancel, ${NOT_TWO}, sample rate below 4 kHz`,
    decimals: 1,
  },
  'bands.levelDb': {
    label: 'Band level',
    unit: 'dB',
    definition:
      'Long-term average power in a third octave, channels summed; rms 1.0 is 0 dB. Frames of 0.5 to 1 s that overlap by a quarter.',
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
};

/** All keys, in the order of `DEFINITIONS`. */
export const FIGURE_KEYS = Object.keys(DEFINITIONS) as readonly FigureKey[];

/** Name of every detail; that of the bands is one. */
export type DetailKey = keyof Details;

const TWO_CHANNELS_AND_SOUND = `silence, ${NOT_TWO}`;

/** The figures of details.ts, in the order in which tables show them. */
export const DETAIL_DEFINITIONS: Readonly<Record<DetailKey, FigureDefinition>> = {
  truePeakSeconds: {
    label: 'Time of the true peak',
    unit: 's',
    definition:
      'Where the true peak is first reached, from the beginning; that of a section from the beginning of its file.',
    source: OWN,
    range: '0 to the length',
    nullWhen: SILENT,
    decimals: 3,
  },
  truePeakChannel: {
    label: 'Channel of the true peak',
    unit: '',
    definition: 'Number of the channel with the true peak; the first is 1.',
    source: OWN,
    range: '1 to the number of channels',
    nullWhen: SILENT,
    decimals: 0,
  },
  clippedRuns: {
    label: 'Clipped runs',
    unit: 'runs',
    definition: 'How many runs the clipped samples form, in all channels together.',
    source: OWN,
    range: '0 and up',
    nullWhen: 'never',
    decimals: 0,
  },
  minPsrDb: {
    label: 'Lowest peak to short-term',
    unit: 'dB',
    definition:
      'Least, over time, of the true peak of 3 s less their short-term loudness, looked at every 10 ms where that lies above -70 LUFS.',
    source: 'common practice',
    range: 'any; the lower, the denser',
    nullWhen: `shorter than 3 s, nothing above -70 LUFS, ${NOT_WEIGHTED}`,
    decimals: 1,
  },
  noiseFloorDbfs: {
    label: 'Noise floor',
    unit: 'dBFS',
    definition: 'RMS of the quietest half second, looked at every 10 ms, between leading and trailing silence.',
    source: OWN,
    range: 'at most the RMS of the whole',
    nullWhen: 'less than half a second of sound, or half a second of digital silence in it',
    decimals: 1,
  },
  leadingSilenceSeconds: {
    label: 'Leading silence',
    unit: 's',
    definition: 'Time before the first 10 ms whose RMS is above -70 dBFS.',
    source: OWN,
    range: '0 and up, in steps of 0.01',
    nullWhen: 'nothing is above -70 dBFS',
    decimals: 2,
  },
  trailingSilenceSeconds: {
    label: 'Trailing silence',
    unit: 's',
    definition: 'Time behind the last 10 ms whose RMS is above -70 dBFS.',
    source: OWN,
    range: '0 and up, in steps of 0.01',
    nullWhen: 'nothing is above -70 dBFS',
    decimals: 2,
  },
  minCorrelation: {
    label: 'Lowest correlation',
    unit: '',
    definition: 'Least correlation of any 400 ms, looked at every 10 ms, whose RMS is at least -60 dBFS.',
    source: OWN,
    range: '-1 to +1',
    nullWhen: `shorter than 0.4 s, nothing so loud, a channel always silent, ${NOT_TWO}`,
    decimals: 2,
  },
  lowsCorrelation: {
    label: 'Correlation of the lows',
    unit: '',
    definition: 'Correlation of what lies below 120 Hz, over the whole.',
    source: OWN,
    range: '-1 to +1; near +1 where the lows stand in the middle',
    nullWhen: `a channel has no lows, ${TWO_CHANNELS_AND_SOUND}`,
    decimals: 2,
  },
  slopeDbPerOctave: {
    label: 'Spectral slope',
    unit: 'dB/oct',
    definition:
      'Least-squares line through the third-octave levels from 100 Hz to 10 kHz over octaves, as power density: less the 3.01 dB by which the bands widen.',
    source: OWN,
    range: 'white noise 0, pink noise -3.01',
    nullWhen: 'one of these bands is empty or lies above half the sample rate',
    decimals: 2,
  },
  onsetStrength: {
    label: 'Onset strength',
    unit: '',
    definition:
      'Spectral flux: what the third-octave amplitudes rise by from one frame (20 ms, half overlapping) to the next, over the sum of all amplitudes.',
    source: 'flux after Bello et al. 2005; the scale is defined here',
    range: '0 (steady) to 1; the same at any level',
    nullWhen: 'silence, shorter than two frames, nothing sustained',
    decimals: 3,
  },
  onsetToSustainDb: {
    label: 'Onset to sustain',
    unit: 'dB',
    definition:
      'Power that third octaves gain from one frame (20 ms, half overlapping) to the next, over the power that both frames have in common.',
    source: OWN,
    range: 'higher has more punch; the same at any level',
    nullWhen: 'silence, shorter than two frames, nothing that begins or nothing sustained',
    decimals: 1,
  },
  bandMonoLoss: {
    label: 'Band mono loss',
    unit: 'dB',
    definition: 'Energy of mid over that of mid and side within a third octave: what folding to mono costs there.',
    source: OWN,
    range: '0 (alike) through -3.01 (unrelated) down',
    nullWhen: `side or mid holds nothing in the band, ${NOT_TWO}`,
    decimals: 1,
  },
};

const WINDOW_400 = 'before 0.4 s, silence';

/** The figures over time of time-series.ts, one value every 10 ms, at the end of their windows. */
export const SERIES_DEFINITIONS: Readonly<Record<keyof TimeSeries, FigureDefinition>> = {
  momentaryLufs: {
    label: 'Momentary loudness',
    unit: 'LUFS',
    definition: 'K-weighted power of the last 400 ms, without gate.',
    source: `${BS1770}; EBU Tech 3341`,
    range: 'any',
    nullWhen: `${WINDOW_400}, ${NOT_WEIGHTED}`,
    decimals: 1,
  },
  shortTermLufs: {
    label: 'Short-term loudness',
    unit: 'LUFS',
    definition: 'K-weighted power of the last 3 s, without gate.',
    source: `${BS1770}; EBU Tech 3341`,
    range: 'any',
    nullWhen: `before 3 s, silence, ${NOT_WEIGHTED}`,
    decimals: 1,
  },
  correlation: {
    label: 'Correlation over time',
    unit: '',
    definition: 'Correlation of left and right of the last 400 ms.',
    source: 'common practice',
    range: '-1 to +1',
    nullWhen: `${WINDOW_400} in a channel, ${NOT_TWO}`,
    decimals: 2,
  },
  sideToMidDb: {
    label: 'Side to mid over time',
    unit: 'dB',
    definition: 'Side over mid energy of the last 400 ms.',
    source: OWN,
    range: 'as side to mid',
    nullWhen: `${WINDOW_400}, left and right identical or opposite, ${NOT_TWO}`,
    decimals: 1,
  },
  truePeakDbtp: {
    label: 'True peak over time',
    unit: 'dBTP',
    definition: 'True peak of the last 10 ms, of any channel.',
    source: `${BS1770}, Annex 2, with a longer interpolator`,
    range: 'at most the true peak of the whole',
    nullWhen: SILENT,
    decimals: 1,
  },
  psrDb: {
    label: 'Peak to short-term',
    unit: 'dB',
    definition: 'True peak of the last 3 s less their short-term loudness.',
    source: 'common practice',
    range: 'any; the lower, the denser',
    nullWhen: `before 3 s, short-term loudness not above -70 LUFS, ${NOT_WEIGHTED}`,
    decimals: 1,
  },
  rmsDbfs: {
    label: 'RMS over time',
    unit: 'dBFS',
    definition: 'Root mean square of the last 400 ms, all channels together; rms 1.0 is 0 dB.',
    source: OWN,
    range: 'any',
    nullWhen: WINDOW_400,
    decimals: 1,
  },
};

/** What is told of two sounds: details.ts and match.ts. */
export type PairKey = keyof Match | Exclude<keyof (BandSum & BandDifference), 'hz'>;

const NO_MATCH = 'a sound is silent or shorter than two segments, or the two share too little';

/** The figures of two sounds. */
export const PAIR_DEFINITIONS: Readonly<Record<PairKey, FigureDefinition>> = {
  lagSamples: {
    label: 'Lag',
    unit: 'samples',
    definition: 'How late the second sound is, in whole samples: the greatest generalised cross-correlation.',
    source: 'Knapp and Carter 1976, maximum-likelihood weighting',
    range: '-4096 to 4096; negative is early',
    nullWhen: NO_MATCH,
    decimals: 0,
  },
  exactLagSamples: {
    label: 'Exact lag',
    unit: 'samples',
    definition: 'The lag with its part of a sample: where the energy that both share is greatest.',
    source: OWN,
    range: 'within one sample of the lag',
    nullWhen: NO_MATCH,
    decimals: 2,
  },
  polarity: {
    label: 'Polarity',
    unit: '',
    definition: 'Sign of the cross-correlation at the lag.',
    source: OWN,
    range: '+1, or -1 when the second resembles the first upside down',
    nullWhen: NO_MATCH,
    decimals: 0,
  },
  coherence: {
    label: 'Coherence',
    unit: '',
    definition: 'Mean magnitude-squared coherence of the two, weighted by their power, less what chance gives.',
    source: OWN,
    range: '0 to 1; below 0.1 there is no match',
    nullWhen: NO_MATCH,
    decimals: 2,
  },
  gainDb: {
    label: 'Gain',
    unit: 'dB',
    definition: 'Gain of the first, delayed, that leaves the least of the second when it is taken off.',
    source: OWN,
    range: 'any',
    nullWhen: NO_MATCH,
    decimals: 2,
  },
  residualDb: {
    label: 'Residual',
    unit: 'dB',
    definition: 'What is left of the second after the best match with the first, over its own energy.',
    source: OWN,
    range: '0 and below; about -70 for a copy that is late by a part of a sample',
    nullWhen: NO_MATCH,
    decimals: 1,
  },
  sumDb: {
    label: 'Sum',
    unit: 'dB',
    definition: 'Power of the sum of both in a third octave over the sum of their powers.',
    source: OWN,
    range: '+3.01 alike, 0 unrelated, down where they cancel',
    nullWhen: 'neither has anything in the band',
    decimals: 1,
  },
  combDepthDb: {
    label: 'Comb depth',
    unit: 'dB',
    definition: 'Power of the sum between the teeth of the comb over that in its notches, in a third octave.',
    source: OWN,
    range: '0 (unrelated) to 60 (a floor is set there)',
    nullWhen: 'neither has anything in the band',
    decimals: 1,
  },
  differenceDb: {
    label: 'Spectrum difference',
    unit: 'dB',
    definition:
      'Band level of the second less that of the first, each less the integrated loudness of its sound: at equal loudness.',
    source: OWN,
    range: 'positive where the second has more',
    nullWhen: 'a band or an integrated loudness does not exist',
    decimals: 1,
  },
};
