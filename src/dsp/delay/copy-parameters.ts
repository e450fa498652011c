import { highCut, lowCut } from '../filters/cut-parameters.ts';
import { percent } from '../core/parameter-builders.ts';

/** Parameters that chorus and doubler share: spread, low cut, high cut and mix of their delayed voices. */
export const copyParameters = {
  spread: percent('Spread', [0, 100], {
    default: 100,
    about:
      'Panning of the copies, from the middle to the sides; a single copy stays in the middle. In mono, the copies of a mono sound lose up to 3 dB at 100 %.',
  }),
  lowCut: lowCut('Takes lows out of the copies (6 dB/oct), so that the bass stays clean; off at 20 Hz.'),
  highCut: highCut('Takes highs out of the copies (6 dB/oct), so that they sit behind the dry sound; off at 20 kHz.'),
  mix: percent('Mix', [0, 100], {
    about:
      'Share of the copies; the rest is the dry sound, by equal power: on most material the loudness stays within 0.5 LU, less what the low cut takes; a steady tone comes up to 3 dB softer or louder, as the copies fall in with it. 100 % on a bus.',
  }),
};
