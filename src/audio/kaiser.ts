/** Modified Bessel function of the first kind and order 0, by its power series. */
export const besselI0 = (x: number): number => {
  let sum = 1;
  let term = 1;
  for (let k = 1; term > sum * 1e-17; k++) {
    term *= (x / (2 * k)) ** 2;
    sum += term;
  }
  return sum;
};

/** Shape factor of the Kaiser window for a stop band `db` dB down (50 dB and more; Kaiser 1974). */
export const kaiserBeta = (db: number): number => 0.1102 * (db - 8.7);

/** Taps that a Kaiser-windowed low-pass needs for a stop band `db` dB down and a transition `width` radians wide (Kaiser 1974). */
export const kaiserTaps = (db: number, width: number): number => Math.ceil((db - 7.95) / (2.285 * width) + 1);

/** The stop band, dB down, that so many taps reach at this transition width: the inverse of `kaiserTaps`. */
export const kaiserStopBand = (taps: number, width: number): number => 2.285 * width * (taps - 1) + 7.95;

/** Kaiser window at `x` from -1 to 1: 1 in the middle, 1 / I0(beta) at the ends. */
export const kaiser = (x: number, beta: number): number =>
  besselI0(beta * Math.sqrt(Math.max(0, 1 - x * x))) / besselI0(beta);
