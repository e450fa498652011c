import { HIGH_CUT_OFF, LOW_CUT_OFF } from '../filters/cut-filters.ts';

/** Parameters that chorus and doubler share: spread, low cut, high cut and mix of their delayed voices. */
export const copyParameters = {
  spread: {
    kind: 'number',
    label: 'Spread',
    about:
      'Panning of the copies, from the middle to the sides; a single copy stays in the middle. In mono, the copies of a mono sound lose up to 3 dB at 100 %.',
    unit: '%',
    min: 0,
    max: 100,
    default: 100,
    scale: 'linear',
    digits: 0,
  },
  lowCut: {
    kind: 'number',
    label: 'Low cut',
    about: 'Takes lows out of the copies (6 dB/oct), so that the bass stays clean; off at 20 Hz.',
    unit: 'Hz',
    min: LOW_CUT_OFF,
    max: 2000,
    default: LOW_CUT_OFF,
    scale: 'logarithmic',
    digits: 0,
  },
  highCut: {
    kind: 'number',
    label: 'High cut',
    about: 'Takes highs out of the copies (6 dB/oct), so that they sit behind the dry sound; off at 20 kHz.',
    unit: 'Hz',
    min: 500,
    max: HIGH_CUT_OFF,
    default: HIGH_CUT_OFF,
    scale: 'logarithmic',
    digits: 0,
  },
  mix: {
    kind: 'number',
    label: 'Mix',
    about:
      'Share of the copies; the rest is the dry sound, by equal power, so that the loudness stays the same. 100 % on a bus.',
    unit: '%',
    min: 0,
    max: 100,
    default: 0,
    scale: 'linear',
    digits: 0,
  },
} as const;
