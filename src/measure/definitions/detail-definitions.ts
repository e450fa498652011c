import { NOT_TWO, NOT_WEIGHTED, OWN, PRACTICE, SILENT } from './definition-words.ts';
import type { FigureDefinition } from './figure-definition.ts';

const TWO_CHANNELS_AND_SOUND = `silence, ${NOT_TWO}`;

/** What head and tail silence share. */
const silence = (where: 'before the first' | 'after the last') =>
  ({
    unit: 's',
    definition: `Time ${where} 10 ms whose RMS is above -70 dBFS.`,
    source: OWN,
    range: '0 and up, in steps of 0.01',
    nullWhen: 'nothing is above -70 dBFS',
    decimals: 2,
    places: ['more findings'],
  }) as const;

/** The figures of details.ts, in the order in which tables show them. */
const definitions = {
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
    advice: {
      moves: 'As clipped samples: each run is one clipped peak.',
      usual: '0',
      source: PRACTICE,
    },
  },
  minPsrDb: {
    label: 'Min PSR',
    unit: 'dB',
    definition:
      'Peak to short-term ratio: least, over time, of the true peak of 3 s less their short-term loudness, read every 10 ms where that lies above -70 LUFS.',
    source: 'common practice',
    range: 'any; the lower, the denser',
    nullWhen: `shorter than 3 s, nothing above -70 LUFS, ${NOT_WEIGHTED}`,
    decimals: 1,
    places: ['more findings'],
    advice: {
      moves: 'The densest 3 s of the song: limiting and saturation lower it.',
      usual: 'Above 8; below 6 the chorus sounds flat',
      source: PRACTICE,
    },
  },
  noiseFloorDbfs: {
    label: 'Noise floor',
    unit: 'dBFS',
    definition: 'RMS of the quietest half second, read every 10 ms, between leading and trailing silence.',
    source: OWN,
    range: 'at most the RMS of the whole',
    nullWhen: 'less than half a second of sound, or half a second of digital silence in it',
    decimals: 1,
    places: ['more findings'],
    advice: {
      moves: 'Hiss and hum of tracks that are open during rests, raised by compression; gates and edits lower it.',
      usual: 'Below -60 in a mix with quiet places',
      source: PRACTICE,
    },
  },
  leadingSilenceSeconds: {
    label: 'Head silence',
    ...silence('before the first'),
    advice: {
      moves: 'The start of the song in the file.',
      usual: '0.05 to 0.5 in delivered files, 0 or a whole bar in stems',
      source: PRACTICE,
    },
  },
  trailingSilenceSeconds: {
    label: 'Tail silence',
    ...silence('after the last'),
    advice: {
      moves: 'The end of the file after the last reverb tail.',
      usual: '0.5 to 2 in delivered files',
      source: PRACTICE,
    },
  },
  minCorrelation: {
    label: 'Min correlation',
    unit: '',
    definition: 'Lowest correlation of any 400 ms, read every 10 ms, whose RMS is at least -60 dBFS.',
    source: OWN,
    range: '-1 to +1',
    nullWhen: `shorter than 0.4 s, nothing so loud, a channel always silent, ${NOT_TWO}`,
    decimals: 2,
    places: ['more findings'],
    advice: {
      moves: 'One wide moment: a stereo effect, a doubled part on both sides, a track with one side inverted.',
      usual: '-0.3 to 0.3; near -1 one side is inverted there',
      source: PRACTICE,
    },
  },
  lowsCorrelation: {
    label: 'Correlation of the lows',
    unit: '',
    definition: 'Correlation of left and right below 120 Hz, over the whole.',
    source: OWN,
    range: '-1 to +1; near +1 if the lows are in the middle',
    nullWhen: `a channel has no sound below 120 Hz, ${TWO_CHANNELS_AND_SOUND}`,
    decimals: 2,
    short: 'Lows corr.',
    least: -1,
    most: 1,
    places: ['more findings', 'targets'],
    advice: {
      moves: 'Stereo effects and wideners that reach below 120 Hz; a high-pass of the side raises it.',
      usual: '0.8 to 1: lows in the middle',
      source: PRACTICE,
    },
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
    short: 'Slope',
    places: ['more findings', 'targets'],
    sweepSpan: 0.5,
    knee: true,
    advice: {
      moves: 'Tone as a whole: shelves, bright buses and the balance of bass against cymbals.',
      usual: '-6 to -3 for dense music',
      source: PRACTICE,
    },
  },
  onsetStrength: {
    label: 'Onset strength',
    unit: '',
    definition:
      'Spectral flux: rise of the third-octave amplitudes from one frame (20 ms, half overlapping) to the next, over the sum of all amplitudes.',
    source: 'flux after Bello et al. 2005; the scale is defined here',
    range: '0 (steady) to 1; the same at any level',
    nullWhen: 'silence, shorter than two frames, nothing sustained',
    decimals: 3,
    short: 'Onset flux',
    places: ['more findings'],
    advice: {
      moves: 'Drums and plucked notes raise it; compression with a quick attack, reverb and sustained parts lower it.',
      usual: 'No value is usual: compare with the rough',
      source: OWN,
    },
  },
  onsetToSustainDb: {
    label: 'Onset to sustain',
    unit: 'dB',
    definition:
      'Rise of the power of third octaves from one frame (20 ms, half overlapping) to the next, over the power that both frames share.',
    source: OWN,
    range: 'higher has more punch; the same at any level',
    nullWhen: 'silence, shorter than two frames, nothing that begins or nothing sustained',
    decimals: 1,
    short: 'Onset',
    places: ['more findings'],
    sweepSpan: 1,
    knee: true,
    advice: {
      moves: 'As onset strength: a heavily compressed drum bus that raises the sound between strokes lowers it.',
      usual: 'No value is usual: compare with the rough',
      source: OWN,
    },
  },
  bandMonoLoss: {
    label: 'Band mono loss',
    unit: 'dB',
    definition: 'Energy of mid over that of mid and side within a third octave: its loss in mono.',
    source: OWN,
    range: '0 (alike) through -3.01 (unrelated) down',
    nullWhen: `side or mid holds nothing in the band, ${NOT_TWO}`,
    decimals: 1,
  },
} as const satisfies Readonly<Record<string, FigureDefinition>>;

/** Name of every detail; that of the bands is one. */
type DetailKey = keyof typeof definitions;
/** Details that are one number each. */
export type OneDetailKey = Exclude<DetailKey, 'bandMonoLoss'>;
/** The details in JSON: a number, or null where the figure does not exist. */
export type OneDetails = {
  readonly [K in OneDetailKey]: (typeof definitions)[K] extends { readonly nullWhen: 'never' } ? number : number | null;
};

export const DETAIL_DEFINITIONS: Readonly<Record<DetailKey, FigureDefinition>> = definitions;
