/**
 * Coefficient a of the one-pole low-pass that is 3.0103 dB down at `hz` exactly (bilinear transform, so that what is left of
 * the input without it is a true high-pass, whole again at Nyquist):
 *
 *     move = a (x - s);  low = s + move;  s = low + move
 *
 * with a = t / (1 + t), t = tan(pi hz / sampleRate). Stable for any 0 <= a < 1, moving or not. Frequencies above 0.49 of
 * the rate count as that.
 */
export const onePole = (hz: number, sampleRate: number): number => {
  const t = Math.tan(Math.PI * Math.min(hz / sampleRate, 0.49));
  return t / (1 + t);
};

/** Samples in which the memory of the one-pole at `hz` falls by `db` dB. */
export const onePoleTail = (hz: number, db: number, sampleRate: number): number =>
  2 + Math.ceil((-db / 20) * (Math.LN10 / Math.log(Math.abs(1 - 2 * onePole(hz, sampleRate)))));

/** Delay of the one-pole at low frequencies, samples. */
export const onePoleDelay = (hz: number, sampleRate: number): number => 0.5 / onePole(hz, sampleRate) - 0.5;

/** State below this is set to 0: what is left is 600 dB down and would only turn subnormal. */
const VANISHED = 1e-30;

/** Sets state below VANISHED to 0. */
export const flushVanished = (state: Float64Array): void => {
  for (let i = 0; i < state.length; i++) if (Math.abs(state[i]!) < VANISHED) state[i] = 0;
};
