import { sampleRate } from './tempo.ts';

/** Second-order section, a0 = 1. */
export interface Biquad {
  readonly b0: number;
  readonly b1: number;
  readonly b2: number;
  readonly a1: number;
  readonly a2: number;
}

/** Bilinear transform of (n2 s^2 + n1 s + n0) / (d2 s^2 + d1 s + d0) with s pre-warped to 1 at `hz`. */
const section = (hz: number, [n2, n1, n0]: readonly number[], [d2, d1, d0]: readonly number[]): Biquad => {
  const k = Math.tan((Math.PI * hz) / sampleRate);
  const kk = k * k;
  const a0 = d2! + d1! * k + d0! * kk;
  return {
    b0: (n2! + n1! * k + n0! * kk) / a0,
    b1: (2 * (n0! * kk - n2!)) / a0,
    b2: (n2! - n1! * k + n0! * kk) / a0,
    a1: (2 * (d0! * kk - d2!)) / a0,
    a2: (d2! - d1! * k + d0! * kk) / a0,
  };
};

export const lowpass = (hz: number, q = Math.SQRT1_2): Biquad => section(hz, [0, 0, 1], [1, 1 / q, 1]);

export const highpass = (hz: number, q = Math.SQRT1_2): Biquad => section(hz, [1, 0, 0], [1, 1 / q, 1]);

/** Bell of `db` at `hz`. */
export const bell = (hz: number, db: number, q: number): Biquad => {
  const a = 10 ** (db / 40);
  return section(hz, [1, a / q, 1], [1, 1 / (a * q), 1]);
};

/** Shelf of `db` above `hz` (half of it at `hz`). */
export const highShelf = (hz: number, db: number): Biquad => {
  const a = 10 ** (db / 40);
  const slope = Math.sqrt(2 * a);
  return section(hz, [a * a, a * slope, a], [1, slope, a]);
};

/** Shelf of `db` below `hz` (half of it at `hz`). */
export const lowShelf = (hz: number, db: number): Biquad => {
  const a = 10 ** (db / 40);
  const slope = Math.sqrt(2 * a);
  return section(hz, [a, a * slope, a * a], [a, slope, 1]);
};

/** Runs `signal` through the sections in turn, in place, and returns it. */
export const filter = (signal: Float32Array, ...sections: readonly Biquad[]): Float32Array => {
  for (const { b0, b1, b2, a1, a2 } of sections) {
    let s1 = 0;
    let s2 = 0;
    for (let n = 0; n < signal.length; n++) {
      const x = signal[n]!;
      const y = b0 * x + s1;
      s1 = b1 * x - a1 * y + s2;
      s2 = b2 * x - a2 * y;
      signal[n] = y;
    }
  }
  return signal;
};
