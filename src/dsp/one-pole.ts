/**
 * Coefficient a of the one-pole low-pass s += a (x - s) that is 3.0103 dB down at `hz` exactly:
 * a = sqrt(k^2 + 2 k) - k with k = 1 - cos(2 pi hz / sampleRate), from |H|^2 = a^2 / (a^2 + 2 (1 - a) k) = 1/2.
 * Frequencies above 0.49 of the rate count as that.
 */
export const onePole = (hz: number, sampleRate: number): number => {
  const k = 1 - Math.cos(2 * Math.PI * Math.min(hz / sampleRate, 0.49));
  return Math.sqrt(k * k + 2 * k) - k;
};

/** Samples in which the memory of the one-pole at `hz` falls by `db` dB. */
export const onePoleTail = (hz: number, db: number, sampleRate: number): number =>
  Math.ceil((-db / 20) * (Math.LN10 / Math.log(1 - onePole(hz, sampleRate))));

/** State below this is set to 0: what is left is 600 dB down and would only turn subnormal. */
const VANISHED = 1e-30;

/** Sets memories too small to matter to 0. */
export const flushVanished = (state: Float64Array): void => {
  for (let i = 0; i < state.length; i++) if (Math.abs(state[i]!) < VANISHED) state[i] = 0;
};
