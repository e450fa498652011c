/** Signals that the files in fixtures/ were made of, computed again by the tests that read them. */

/** Whole numbers over the full range of `bits`, with both extremes among them: a 32 bit linear congruential sequence. */
export function noiseIntegers(count: number, bits: number, seed: number): Int32Array {
  let state = seed >>> 0;
  const values = new Int32Array(count);
  for (let i = 0; i < count; i++) {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    values[i] = (state | 0) >> (32 - bits);
  }
  values[0] = -(2 ** (bits - 1));
  values[1] = 2 ** (bits - 1) - 1;
  return values;
}

/** Full scale 1: the integers / 2^(bits-1). */
export const scaled = (integers: Int32Array, bits: number): Float32Array =>
  Float32Array.from(integers, (value) => value / 2 ** (bits - 1));

/** A sine that rises from 200 to 4000 Hz over 0.4 s, peak 0.5: its correlation with a shifted copy has one sharp peak. */
export const chirp = (sampleRate: number): Float32Array =>
  Float32Array.from({ length: 0.4 * sampleRate }, (_, i) => {
    const t = i / sampleRate;
    return 0.5 * Math.sin(2 * Math.PI * (200 * t + ((4000 - 200) / 0.8) * t * t));
  });

/** The chirp backwards at half its level: the other side of the stereo fixtures. */
export const fallingChirp = (sampleRate: number): Float32Array =>
  chirp(sampleRate)
    .reverse()
    .map((x) => 0.5 * x);

/** Sine of peak `peak`. */
export const sine = (hz: number, sampleRate: number, frames: number, peak = 0.5): Float32Array =>
  Float32Array.from({ length: frames }, (_, i) => peak * Math.sin((2 * Math.PI * hz * i) / sampleRate));

/** RMS of samples, dB re 1. */
export const rmsDb = (samples: ArrayLike<number>): number => {
  let sum = 0;
  for (let i = 0; i < samples.length; i++) sum += samples[i]! ** 2;
  return 10 * Math.log10(sum / samples.length);
};

/** Sample by sample `a - b`. */
export const difference = (a: ArrayLike<number>, b: ArrayLike<number>): Float64Array =>
  Float64Array.from({ length: Math.min(a.length, b.length) }, (_, i) => a[i]! - b[i]!);

/** How many samples later than `reference` `signal` stands, within +-`range`, by the peak of their correlation. */
export function lagOf(signal: Float32Array, reference: Float32Array, range: number): number {
  let best = -Infinity;
  let at = 0;
  for (let lag = -range; lag <= range; lag++) {
    let sum = 0;
    for (let i = Math.max(0, -lag); i < reference.length && i + lag < signal.length; i++) {
      sum += signal[i + lag]! * reference[i]!;
    }
    if (sum > best) [best, at] = [sum, lag];
  }
  return at;
}
