/**
 * A curve that spans less than this, in its own unit (dB, LU), is given no knee: 1 dB is about the least change of
 * level that is heard in music, and the limit that makes a change of a third octave audible here.
 */
const LEAST_SPAN = 1;

/**
 * Index of the knee of a curve with evenly spaced points: where it bends most when both axes run from 0 to 1 (curvature
 * as Satopaa et al. 2011 use it for knees; second and first differences over the neighbours). null: fewer than 5
 * points, one missing, or hardly any change.
 */
export const kneeOf = (values: readonly (number | null)[], leastSpan = LEAST_SPAN): number | null => {
  if (values.length < 5 || values.some((value) => value === null)) return null;
  const known = values as readonly number[];
  const least = Math.min(...known);
  const span = Math.max(...known) - least;
  if (!(span >= leastSpan)) return null;
  const y = known.map((value) => (value - least) / span);
  const step = 1 / (y.length - 1);
  let knee = 1;
  let most = 0;
  for (let n = 1; n + 1 < y.length; n++) {
    const slope = (y[n + 1]! - y[n - 1]!) / (2 * step);
    const bend = Math.abs(y[n + 1]! - 2 * y[n]! + y[n - 1]!) / step ** 2;
    const curvature = bend / (1 + slope * slope) ** 1.5;
    if (curvature > most) [knee, most] = [n, curvature];
  }
  // Below this the curvature is rounding error of a straight line.
  return most > 1e-6 ? knee : null;
};
