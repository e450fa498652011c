const MINUS = '\u2212';

/** Text in place of a missing figure. */
export const NO_FIGURE = '\u2013';

/** A number with a true minus sign; never "-0.0". */
export const plain = (value: number | null | undefined, digits = 1): string => {
  if (value === null || value === undefined || !Number.isFinite(value)) return NO_FIGURE;
  const text = Math.abs(value).toFixed(digits);
  return value < 0 && Number(text) !== 0 ? MINUS + text : text;
};

/** A frequency on an axis: 500, 1.6 k. */
export const hertz = (hz: number): string =>
  hz >= 1000 ? `${Number((hz / 1000).toPrecision(3))} k` : `${Number(hz.toPrecision(3))}`;
