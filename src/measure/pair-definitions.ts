import { OWN } from './definition-words.ts';
import type { FigureDefinition } from './figure-definition.ts';
import type { Match } from './match.ts';
import type { StereoMatch } from './stereo-match.ts';

/** Figures of two sounds: match.ts, stereo-match.ts. */
export type PairKey = keyof Match | keyof StereoMatch;

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
  explained: {
    label: 'Explained',
    unit: '',
    definition: 'Part of what the two share that a delay explains, once the phase of filters is taken off.',
    source: 'Knapp and Carter 1976, maximum-likelihood weighting',
    range: '0 to 1; below 0.5 the lag is chance, an echo or a room',
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
    definition:
      'What is left of the second, both sides together, after the best match with the first, over its own energy.',
    source: OWN,
    range: '0 and below; about -70 for a copy that is late by a part of a sample',
    nullWhen: NO_MATCH,
    decimals: 1,
  },
  arrangement: {
    label: 'Sides',
    unit: '',
    definition:
      'How left and right of the second are made of those of the first: as they are, swapped, folded, one alone or inverted.',
    source: OWN,
    range: 'another than "same" where it leaves less than a quarter of the residual',
    nullWhen: NO_MATCH,
    decimals: 0,
  },
  arrangedResidualDb: {
    label: 'Residual, sides arranged',
    unit: 'dB',
    definition: 'The residual when the sides of the first are arranged so.',
    source: OWN,
    range: 'as the residual',
    nullWhen: NO_MATCH,
    decimals: 1,
  },
};
