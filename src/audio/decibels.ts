/** Linear gain of a level in dB: 20 dB is 10, 0 dB is exactly 1. */
export const gainOf = (db: number): number => 10 ** (db / 20);

/** Level in dB of a linear gain; 0 gives -Infinity. */
export const decibelsOf = (gain: number): number => 20 * Math.log10(gain);
