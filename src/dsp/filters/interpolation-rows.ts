import { kaiser } from '../../audio/kaiser.ts';

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

/** Kaiser's window: the gain stays below 1.0007 everywhere. */
const BETA = 7;

/** Coefficients for a delay of `part` of a sample, newest sample first: a sinc under Kaiser's window, scaled to a sum of 1. */
const coefficients = (part: number, count: number): readonly number[] => {
  const taps = Array.from({ length: count }, (_, k) => {
    const u = part + count / 2 - 1 - k;
    if (Number.isInteger(u)) return u === 0 ? 1 : 0;
    return (Math.sin(Math.PI * u) / (Math.PI * u)) * kaiser(u / (count / 2), BETA);
  });
  const sum = taps.reduce((total, tap) => total + tap, 0);
  return taps.map((tap) => tap / sum);
};

/** Rows for delays of row / ROWS samples: `count` coefficients, then what the next row adds to each. Row 0 is one sample, exactly. */
const rowsOf = (count: number): Float64Array =>
  Float64Array.from(
    Array.from({ length: ROWS }, (_, row) => {
      const [here, next] = [coefficients(row / ROWS, count), coefficients((row + 1) / ROWS, count)];
      return [...here, ...next.map((tap, k) => tap - here[k]!)];
    }).flat(),
  );

/** Eight samples: within 0.03 dB up to a quarter of the rate and within 0.3 dB up to 0.29 of it, for sounds that pass many times. */
export const interpolationRows = rowsOf(COUNT);

/** As AHEAD, STEP and TAPS, for the long rows. */
export const LONG_AHEAD = COUNT - 1;
export const LONG_STEP = 2 * COUNT;
export const LONG_TAPS = 4 * COUNT;

/**
 * Sixteen samples: within 0.05 dB up to 0.37 of the rate (18 kHz at 48 kHz) and within 0.4 dB up to 0.4 of it; what a moving
 * delay adds beside the sound is 60 dB below it up to 0.36 of the rate. For copies that are heard as they are.
 */
export const longInterpolationRows = rowsOf(2 * COUNT);
