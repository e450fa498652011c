import type { Coefficients } from '../filters/biquad.ts';

/** -120 dB, halved because mid and side may add. */
const LIMIT = 0.5e-6;

interface Envelope {
  /** |h[n]| <= amplitude * radius ** (n - 1) for n >= 1. */
  readonly amplitude: number;
  readonly radius: number;
  /** Upper bound of sum |h[n]|: the most that it can raise a peak. */
  readonly gain: number;
}

/**
 * Envelope of a section's impulse response from its poles p, p' (partial fractions):
 * h[n] = (N p^(n-1) - N' p'^(n-1)) / (p - p') with N = c1 p + c2, after the direct part b0 is taken out.
 */
const envelopeOf = (section: Coefficients): Envelope => {
  const [b0, b1, b2, a1, a2] = section as unknown as readonly [number, number, number, number, number];
  const c1 = b1 - b0 * a1;
  const c2 = b2 - b0 * a2;
  const discriminant = (a1 * a1) / 4 - a2;
  const half = Math.sqrt(Math.abs(discriminant));
  const complex = discriminant < 0;
  const radius = complex ? Math.sqrt(a2) : Math.abs(a1) / 2 + half;
  const numerators = complex
    ? 2 * Math.hypot(c2 - (c1 * a1) / 2, c1 * half)
    : Math.abs(c2 - c1 * (a1 / 2 - half)) + Math.abs(c2 - c1 * (a1 / 2 + half));
  // Nearly equal poles give n r^n instead of a sum of two powers. Holding their distance at (1 - r) / 20 bounds that
  // until n (1 - r) = 20, which is 170 dB down.
  const closest = (1 - radius) / 20;
  const apart = 2 * half >= closest;
  const amplitude = numerators / (apart ? 2 * half : closest) + (apart ? 0 : Math.abs(c1));
  return { amplitude, radius, gain: Math.abs(b0) + amplitude / (1 - radius) };
};

/**
 * Samples after the end of any input of peak 1 until sections in series stay below 10^-6 (-120 dB). An upper bound:
 * a response later than the sum of the sections' own times has at least one section past its time, and each section's
 * remainder is held below its share of the limit after the most that all others can raise it.
 *
 * @param peak of what comes in, or the most that something after the sections raises it; 1 is full scale
 */
export const cascadeTail = (sections: readonly Coefficients[], peak = 1): number => {
  const envelopes = sections.map(envelopeOf);
  const gain = envelopes.reduce((product, envelope) => product * envelope.gain, 1);
  return envelopes.reduce((sum, { amplitude, radius, gain: own }) => {
    const limit = (LIMIT * own) / (gain * sections.length * peak);
    if (amplitude === 0) return sum;
    if (radius === 0) return sum + 2;
    return sum + Math.max(0, Math.ceil(1 + Math.log((limit * (1 - radius)) / amplitude) / Math.log(radius)));
  }, 0);
};
