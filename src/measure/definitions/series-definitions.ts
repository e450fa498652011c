import { BS1770, NOT_TWO, NOT_WEIGHTED, OWN, SILENT } from './definition-words.ts';
import type { FigureDefinition } from './figure-definition.ts';
import type { TimeSeries } from '../time-series.ts';

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
    label: 'PSR',
    unit: 'dB',
    definition: 'Peak to short-term ratio: true peak of the last 3 s less their short-term loudness.',
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
