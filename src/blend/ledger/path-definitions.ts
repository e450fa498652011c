import type { FigureDefinition } from '../../measure/definitions/figure-definition.ts';

/** Figures of each path in the ledger, beside the change of every figure of the mix. */
export const PATH_DEFINITIONS = {
  shareOfLoudness: {
    label: 'Share of loudness',
    short: 'Share',
    unit: '%',
    definition:
      "Part of the mix's gated K-weighted energy that the path contributes: its Shapley value, which is its own energy plus half of the cross terms with each other path. All shares add up to 100 %; below zero it partly cancels the others.",
    source: 'Shapley 1953, of the energy; weighting and gate of ITU-R BS.1770-5',
    range: 'any; as a part of 1 in JSON',
    nullWhen: 'silence',
    decimals: 1,
    advice: {
      moves: 'The level of the path, against all others. A bus and what it doubles each get half of their cross term.',
      usual:
        'Drums and lead vocal have most of it, a parallel bus 2 to 15 %; below 0 % look at its alignment and polarity',
      source: 'common practice',
    },
  },
  cancelsDb: {
    label: 'Cancels',
    unit: 'dB',
    definition:
      'Largest reduction that the path causes in any audible third octave of the sound that it doubles, or of the mix if it doubles none.',
    source: 'defined here',
    range: '0 and below',
    nullWhen: 'never',
    decimals: 1,
    advice: {
      moves: 'Delay, phase shift of filters and inverted polarity against what the path doubles.',
      usual: '0 to -1; below -3 some notes or drums are thinner than without the path',
      source: 'common practice',
    },
  },
} as const satisfies Readonly<Record<string, FigureDefinition>>;
