import { OWN } from './definition-words.ts';
import type { FigureDefinition } from './figure-definition.ts';
import type { Match } from '../match/match.ts';
import type { StereoMatch } from '../match/stereo-match.ts';

/** Figures of two sounds: match.ts, stereo-match.ts, side-match.ts. */
type PairKey = keyof Match | keyof StereoMatch | 'sides' | 'sidesResidualDb';

const NO_MATCH = 'a sound is silent or shorter than two segments, or the two share too little';

/** The figures of two sounds. */
export const PAIR_DEFINITIONS: Readonly<Record<PairKey, FigureDefinition>> = {
  lagSamples: {
    label: 'Lag',
    unit: 'samples',
    definition: 'Delay of the second sound in whole samples: the maximum of the generalised cross-correlation.',
    source: 'Knapp and Carter 1976, maximum-likelihood weighting',
    range: '-4096 to 4096; negative is early',
    nullWhen: NO_MATCH,
    decimals: 0,
  },
  exactLagSamples: {
    label: 'Exact lag',
    unit: 'samples',
    definition: 'The lag including a fraction of a sample: where the common energy is greatest.',
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
    range: '+1, or -1 when the second is inverted',
    nullWhen: NO_MATCH,
    decimals: 0,
  },
  coherence: {
    label: 'Coherence',
    unit: '',
    definition:
      'Mean magnitude-squared coherence of the two, weighted by their power, less the value expected by chance.',
    source: OWN,
    range: '0 to 1; below 0.1 there is no match',
    nullWhen: NO_MATCH,
    decimals: 2,
  },
  explained: {
    label: 'Explained',
    unit: '',
    definition: 'Part of the common energy whose phase a delay explains, after removing the phase of filters.',
    source: 'Knapp and Carter 1976, maximum-likelihood weighting',
    range: '0 to 1; below 0.5 the lag is chance, an echo or a room',
    nullWhen: NO_MATCH,
    decimals: 2,
  },
  gainDb: {
    label: 'Gain',
    unit: 'dB',
    definition: 'Gain of the delayed first sound at which the residual of the second after subtraction is smallest.',
    source: OWN,
    range: 'any',
    nullWhen: NO_MATCH,
    decimals: 2,
  },
  residualDb: {
    label: 'Residual',
    unit: 'dB',
    definition:
      'Energy left of the second sound, both channels together, after subtracting the best match with the first, over its own energy.',
    source: OWN,
    range: '0 and below; about -70 for a copy that is late by a part of a sample',
    nullWhen: NO_MATCH,
    decimals: 1,
  },
  arrangement: {
    label: 'Sides',
    unit: '',
    definition:
      'Channels of the second in terms of those of the first: unchanged, swapped, mono, one channel only, or inverted.',
    source: OWN,
    range: 'other than "same" where that leaves less than a quarter of the residual',
    nullWhen: NO_MATCH,
    decimals: 0,
  },
  arrangedResidualDb: {
    label: 'Residual, channels arranged',
    unit: 'dB',
    definition: 'The residual with the channels of the first arranged like that.',
    source: OWN,
    range: 'as the residual',
    nullWhen: NO_MATCH,
    decimals: 1,
  },
  sides: {
    label: 'Side by side',
    unit: '',
    definition:
      'Left and right of the second matched separately: the channel or mono sum of the first that each equals, with exact lag, gain, polarity and residual.',
    source: OWN,
    range: 'given where its residual is below a quarter of that with one lag and one gain for both',
    nullWhen: 'one lag and one gain explain both sides as well',
    decimals: 2,
  },
  sidesResidualDb: {
    label: 'Residual, side by side',
    unit: 'dB',
    definition: 'The residual with each side of the second so delayed and scaled.',
    source: OWN,
    range: 'as the residual',
    nullWhen: 'one lag and one gain explain both sides as well',
    decimals: 1,
  },
};
