/**
 * Second-order sections: [b0, b1, b2, a1, a2] with a0 = 1, for y = b0 x + b1 x' + b2 x'' - a1 y' - a2 y''.
 * Designs follow R. Bristow-Johnson's cookbook (W3C Group Note, 2021); first-order sections are the bilinear
 * transform of 1 / (s + 1) and s / (s + 1), with b2 = a2 = 0. All write into `into` and allocate nothing.
 */
export type Coefficients = Float64Array;

/** Numbers in one section's coefficients. */
export const COEFFICIENTS = 5;

const store = (into: Coefficients, b0: number, b1: number, b2: number, a0: number, a1: number, a2: number): void => {
  into[0] = b0 / a0;
  into[1] = b1 / a0;
  into[2] = b2 / a0;
  into[3] = a1 / a0;
  into[4] = a2 / a0;
};

/** Angle of a frequency on the unit circle, radians a sample. */
export const angleOf = (hz: number, sampleRate: number): number => (2 * Math.PI * hz) / sampleRate;

/** Bell of `gainDb` at `angle`; the bandwidth is symmetric for boost and cut, so that one undoes the other. */
export const designBell = (into: Coefficients, angle: number, gainDb: number, q: number): void => {
  const a = 10 ** (gainDb / 40);
  const alpha = Math.sin(angle) / (2 * q);
  const turn = -2 * Math.cos(angle);
  store(into, 1 + alpha * a, turn, 1 - alpha * a, 1 + alpha / a, turn, 1 - alpha / a);
};

/** Shelf that reaches `gainDb` below (`low`) or above `angle`, half of it at `angle`; q 1/sqrt(2) is the shelf of slope 1. */
export const designShelf = (into: Coefficients, angle: number, gainDb: number, q: number, low: boolean): void => {
  const a = 10 ** (gainDb / 40);
  const bend = (Math.sqrt(a) * Math.sin(angle)) / q;
  const cos = low ? Math.cos(angle) : -Math.cos(angle);
  const side = low ? 1 : -1;
  store(
    into,
    a * (a + 1 - (a - 1) * cos + bend),
    side * 2 * a * (a - 1 - (a + 1) * cos),
    a * (a + 1 - (a - 1) * cos - bend),
    a + 1 + (a - 1) * cos + bend,
    side * -2 * (a - 1 + (a + 1) * cos),
    a + 1 + (a - 1) * cos - bend,
  );
};

/** Low cut (high-pass) of second order; q 1/sqrt(2) is Butterworth. */
export const designLowCut = (into: Coefficients, angle: number, q: number): void => {
  const alpha = Math.sin(angle) / (2 * q);
  const cos = Math.cos(angle);
  store(into, (1 + cos) / 2, -(1 + cos), (1 + cos) / 2, 1 + alpha, -2 * cos, 1 - alpha);
};

/** High cut (low-pass) of second order; q 1/sqrt(2) is Butterworth. */
export const designHighCut = (into: Coefficients, angle: number, q: number): void => {
  const alpha = Math.sin(angle) / (2 * q);
  const cos = Math.cos(angle);
  store(into, (1 - cos) / 2, 1 - cos, (1 - cos) / 2, 1 + alpha, -2 * cos, 1 - alpha);
};

/** Band-pass of second order, 0 dB at `angle`. */
export const designBandPass = (into: Coefficients, angle: number, q: number): void => {
  const alpha = Math.sin(angle) / (2 * q);
  store(into, alpha, 0, -alpha, 1 + alpha, -2 * Math.cos(angle), 1 - alpha);
};

/** Notch of second order: nothing is left at `angle`. */
export const designNotch = (into: Coefficients, angle: number, q: number): void => {
  const alpha = Math.sin(angle) / (2 * q);
  const turn = -2 * Math.cos(angle);
  store(into, 1, turn, 1, 1 + alpha, turn, 1 - alpha);
};

/** Tilt: a high shelf less half its gain, so that `angle` stays where it is, the top gains half and the lows lose half. */
export const designTilt = (into: Coefficients, angle: number, gainDb: number, q: number): void => {
  designShelf(into, angle, gainDb, q, false);
  const level = 10 ** (-gainDb / 40);
  for (let i = 0; i < 3; i++) into[i]! *= level;
};

/** All-pass of second order: every level stays, the phase turns by 180 degrees at `angle` and by 360 above. */
export const designAllPass = (into: Coefficients, angle: number, q: number): void => {
  const alpha = Math.sin(angle) / (2 * q);
  const turn = -2 * Math.cos(angle);
  store(into, 1 - alpha, turn, 1 + alpha, 1 + alpha, turn, 1 - alpha);
};

/** Low cut of first order, 6 dB an octave. */
export const designLowCut1 = (into: Coefficients, angle: number): void => {
  const k = Math.tan(angle / 2);
  store(into, 1, -1, 0, 1 + k, k - 1, 0);
};

/** High cut of first order, 6 dB an octave. */
export const designHighCut1 = (into: Coefficients, angle: number): void => {
  const k = Math.tan(angle / 2);
  store(into, k, k, 0, 1 + k, k - 1, 0);
};

/** Gain of one section at `angle`, dB; -Infinity at a zero on the unit circle. */
export const magnitudeDb = (section: Coefficients, angle: number): number => {
  const [b0, b1, b2, a1, a2] = section as unknown as readonly [number, number, number, number, number];
  const cos = Math.cos(angle);
  const sin = Math.sin(angle);
  const cos2 = Math.cos(2 * angle);
  const sin2 = Math.sin(2 * angle);
  const over = (b0 + b1 * cos + b2 * cos2) ** 2 + (b1 * sin + b2 * sin2) ** 2;
  const under = (1 + a1 * cos + a2 * cos2) ** 2 + (a1 * sin + a2 * sin2) ** 2;
  return 10 * Math.log10(over / under);
};
