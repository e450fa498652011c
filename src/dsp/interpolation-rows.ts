import { kaiser } from './kaiser.ts';

/** Samples that one value between samples is made of. */
const COUNT = 8;
/** Rows per sample; values between two rows are interpolated. */
export const ROWS = 128;
/** Newest sample used lies this many samples after the one before the wanted instant. */
export const AHEAD = COUNT / 2 - 1;
/** From a coefficient to what the next row adds to it. */
export const STEP = COUNT;
/** From one row to the next. */
export const TAPS = 2 * COUNT;

/** Coefficients for a delay of `part` of a sample, newest sample first: a sinc under Kaiser's window, scaled to a sum of 1. */
const coefficients = (part: number): readonly number[] => {
  const taps = Array.from({ length: COUNT }, (_, k) => {
    const u = part + AHEAD - k;
    if (Number.isInteger(u)) return u === 0 ? 1 : 0;
    return (Math.sin(Math.PI * u) / (Math.PI * u)) * kaiser(u / (COUNT / 2), 7);
  });
  const sum = taps.reduce((total, tap) => total + tap, 0);
  return taps.map((tap) => tap / sum);
};

/**
 * Rows for delays of row / ROWS samples: 8 coefficients, then what the next row adds to each. Row 0 is an exact single
 * sample. Beta 7 keeps the gain below 1.0004 everywhere, within 0.03 dB up to a quarter of the rate and within 0.3 dB up to
 * 0.29 of it, so that a sound may pass many times.
 */
export const interpolationRows = Float64Array.from(
  Array.from({ length: ROWS }, (_, row) => {
    const [here, next] = [coefficients(row / ROWS), coefficients((row + 1) / ROWS)];
    return [...here, ...next.map((tap, k) => tap - here[k]!)];
  }).flat(),
);
