import type { Track } from '../session/schema.ts';

/** Polarity with both channels turned over, and with the right one alone. */
export const TURNED = {
  normal: { both: 'inverted', right: 'right inverted' },
  inverted: { both: 'normal', right: 'left inverted' },
  'left inverted': { both: 'right inverted', right: 'inverted' },
  'right inverted': { both: 'left inverted', right: 'normal' },
} as const satisfies Record<Track['polarity'], Record<'both' | 'right', Track['polarity']>>;
