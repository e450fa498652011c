import { describe, expect, it } from 'vitest';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { valuesFrom } from '../../src/dsp/core/parameter.ts';
import { processor, transferOf } from '../../src/dsp/processors/saturator.ts';
import { both, stepOf, through } from '../helpers/chains.ts';
import { fourier } from '../helpers/signals.ts';

const RATE = 48000;
const FRAMES = 65536;

/** Amplitudes (peak) of the harmonics of one period, [direct, H1, H2, ..]. */
function harmonicsOf(period: Float64Array, cycles: number, count: number): number[] {
  const re = period.slice();
  const im = new Float64Array(re.length);
  fourier(re, im);
  return Array.from({ length: count }, (_, k) => {
    const amplitude = Math.hypot(re[k * cycles]!, im[k * cycles]!) / re.length;
    return k === 0 ? amplitude : 2 * amplitude;
  });
}

const sine = (frames: number, cycles: number, peak = 1): Float64Array =>
  Float64Array.from({ length: frames }, (_, n) => peak * Math.sin((2 * Math.PI * cycles * n) / frames));

/** The curve alone, without filters: settings at full mix, no level compensation. */
const shaped = (settings: Settings, peak: number): number[] => {
  const values = valuesFrom(processor.parameters, { mix: 100, compensation: false, ...settings });
  return harmonicsOf(
    sine(4096, 1, peak).map((x) => transferOf(values, x)),
    1,
    9,
  );
};

/** Steady state of the whole processor for a sine of `cycles` per FRAMES samples: one period of FRAMES samples. */
const played = (settings: Settings, cycles: number, peak = 1, rate = RATE): Float64Array => {
  // Behind an uneven curve the direct part dies away below 2 Hz: after a second it is 112 dB down.
  const lead = String(settings.curve).startsWith('uneven') ? 49152 : 16384;
  const input = Float64Array.from(
    { length: lead + FRAMES },
    (_, n) => peak * Math.sin((2 * Math.PI * cycles * n) / FRAMES),
  );
  const step = stepOf(processor.id, { mix: 100, compensation: false, ...settings });
  return through([step], both(input), rate).left.slice(lead);
};

const db = (ratio: number): number => 20 * Math.log10(ratio);
const driveOf = (gain: number): number => 20 * Math.log10(gain);

/** Total of the harmonics over the first, THD_F. */
const distortion = (h: readonly number[]): number => Math.hypot(...h.slice(2)) / h[1]!;

describe('harmonics of a sine through the curves (closed forms; FFT of 65536 points)', () => {
  // x - x^3 / 3: H1 = A - A^3 / 4, H3 = A^3 / 12, nothing else.
  it.each([
    [1, 0.75, 0.083333, -19.0849, 0.111111],
    [0.5, 0.46875, 0.0104166667, -33.0643, 0.022222],
    [0.25, 0.24609375, 0.0013020833, -45.5292, 0.00529101],
  ])('cubic, peak %f: third harmonic only', (peak, h1, h3, h3Db, thd) => {
    const h = shaped({ curve: 'cubic' }, peak);
    expect(h[1]).toBeCloseTo(h1, 9);
    expect(h[3]).toBeCloseTo(h3, 6);
    expect(db(h[3]! / h[1]!)).toBeCloseTo(h3Db, 4);
    expect(distortion(h)).toBeCloseTo(thd, 6);
    for (const k of [0, 2, 4, 5, 6, 7, 8]) expect(h[k]).toBeLessThan(1e-12);
  });

  // With a = asin(1 / A): H1 = (2 / pi)(A a + sqrt(1 - 1 / A^2)), H3 = (4 / pi)[A (sin 2a / 4 - sin 4a / 8) + cos(3a) / 3].
  // A sampled corner is off by the order of 1 / points^2, hence 1e-5 instead of the 1e-6 of the smooth curves.
  it.each([
    [Math.SQRT2, 1.157265, 0.150053, -17.744],
    [2, 1.217996, 0.275664, -12.905],
  ])('hard clip, peak %f', (peak, h1, h3, h3Db) => {
    const h = shaped({ curve: 'hard clip' }, peak);
    expect(Math.abs(h[1]! - h1)).toBeLessThan(1e-5);
    expect(Math.abs(h[3]! - h3)).toBeLessThan(1e-5);
    expect(db(h[3]! / h[1]!)).toBeCloseTo(h3Db, 3);
  });

  it.each([
    [0.1, -61.6053, undefined, undefined, 0.000831256],
    [0.5, -34.14944, -66.62725, -98.9916, 0.0196178],
    [1, -23.50033, -45.09099, -66.53622, 0.0670649],
    [2, -15.451, -28.29807, -40.87597, 0.1734069],
  ])('tanh, peak %f: odd harmonics only', (peak, h3, h5, h7, thd) => {
    const h = shaped({ curve: 'soft' }, peak);
    expect(db(h[3]! / h[1]!)).toBeCloseTo(h3, 3);
    if (h5 !== undefined) expect(db(h[5]! / h[1]!)).toBeCloseTo(h5, 3);
    if (h7 !== undefined) expect(db(h[7]! / h[1]!)).toBeCloseTo(h7, 3);
    // The table of harmonics ends at the eighth; what is above it adds less than 4e-5 at peak 2.
    expect(Math.abs(distortion(h) - thd)).toBeLessThan(5e-5);
    for (const k of [2, 4, 6, 8]) expect(db(h[k]! / h[1]!)).toBeLessThan(-290);
  });

  it('tanh with a bias of 0.3, peak 0.5: second and third harmonic', () => {
    const h = shaped({ curve: 'soft', bias: 30 }, 0.5);
    expect(db(h[2]! / h[1]!)).toBeCloseTo(-23.6, 1);
    expect(db(h[3]! / h[1]!)).toBeCloseTo(-36.4, 1);
  });
});

describe('harmonics of the further curves', () => {
  // sin(A sin t) = 2 (J1(A) sin t + J3(A) sin 3t + ..) (Jacobi and Anger). Bessel functions by their power series.
  const bessel = (order: number, x: number): number => {
    let term = (x / 2) ** order;
    for (let n = 2; n <= order; n++) term /= n;
    let sum = 0;
    for (let k = 0; k < 60; k++) {
      sum += term;
      term *= -((x / 2) ** 2) / ((k + 1) * (k + 1 + order));
    }
    return sum;
  };

  it.each([0.5, 1, 2, 4, 8])('fold, peak %f: 2 J1, 2 J3, 2 J5, 2 J7 and nothing even', (peak) => {
    const h = shaped({ curve: 'fold', drive: driveOf(peak) }, 1);
    for (const k of [1, 3, 5, 7]) expect(Math.abs(h[k]! - 2 * Math.abs(bessel(k, peak)))).toBeLessThan(1e-7);
    for (const k of [0, 2, 4, 6, 8]) expect(h[k]).toBeLessThan(1e-12);
  });

  it('second harmonic, peak 1: x + x^2 / 10 gives -26.0206 dB, 5 % and a direct part of 0.05', () => {
    const h = shaped({ curve: 'second harmonic' }, 1);
    expect(db(h[2]! / h[1]!)).toBeCloseTo(-26.0206, 4);
    expect(distortion(h)).toBeCloseTo(0.05, 9);
    expect(h[0]).toBeCloseTo(0.05, 9);
    for (const k of [3, 4, 5, 6, 7, 8]) expect(h[k]).toBeLessThan(1e-12);
  });

  it('uneven clip: the lower half as a hard clip of half the height, the upper as one of the whole', () => {
    // Half waves of two hard clips: odd harmonics are the mean of theirs, (H(A) + H(2 A) / 2) / 2, from the table above.
    const h = shaped({ curve: 'uneven clip' }, 1);
    expect(Math.abs(h[1]! - (1 + 1.217996 / 2) / 2)).toBeLessThan(1e-5);
    expect(Math.abs(h[3]! - 0.275664 / 4)).toBeLessThan(1e-5);
    expect(h[2]).toBeGreaterThan(0.05);
  });
});

describe('harmonics of the whole processor', () => {
  // The half-band filters ripple by up to 1e-5 each, and a harmonic passes two to four of them: 4e-5 of its own height.
  it.each(['2x', '4x', '8x'])('soft at %s: as the curve alone gives them, up to 20 kHz', (oversampling) => {
    const cycles = 1361; // 997 Hz
    const h = harmonicsOf(
      played({ curve: 'soft', drive: driveOf(2), oversampling, antialiasing: false }, cycles),
      cycles,
      9,
    );
    const ideal = shaped({ curve: 'soft', drive: driveOf(2) }, 1);
    for (const k of [1, 3, 5, 7]) expect(Math.abs(h[k]! / ideal[k]! - 1)).toBeLessThan(4e-5);
    for (const k of [0, 2, 4, 6, 8]) expect(h[k]).toBeLessThan(1e-9);
  });

  it('bias 0.3: the even harmonics as published, and no direct component', () => {
    const cycles = 1361;
    const h = harmonicsOf(played({ curve: 'soft', bias: 30 }, cycles, 0.5), cycles, 4);
    expect(db(h[2]! / h[1]!)).toBeCloseTo(-23.6, 1);
    expect(db(h[3]! / h[1]!)).toBeCloseTo(-36.4, 1);
    expect(h[0]).toBeLessThan(2e-4);
  });
});

/**
 * Power of all that is neither harmonic nor direct, up to 20 kHz, over the power of the harmonics, dB. The cycles are
 * odd, so no alias of one harmonic falls on another.
 */
function aliasing(settings: Settings, hz: number, rate = RATE): number {
  const cycles = 2 * Math.round((hz * FRAMES) / rate / 2) + 1;
  const re = played(settings, cycles, 1, rate);
  const im = new Float64Array(FRAMES);
  fourier(re, im);
  let harmonic = 0;
  let other = 0;
  for (let bin = 1; bin <= (20000 * FRAMES) / rate; bin++) {
    const power = re[bin]! ** 2 + im[bin]! ** 2;
    if (bin % cycles === 0) harmonic += power;
    else other += power;
  }
  return 10 * Math.log10(other / harmonic);
}

describe('aliasing of a 0 dBFS sine at a gain of 4', () => {
  // Bounds: 3 dB and more above what a Kaiser FIR of 100 dB gives (numpy, 1 Hz bins, up to 20 kHz: below -150, -117.7,
  // -64.9, -119.4, -66.3, -51.0, -62.3). Kahles, Esqueda, Valimaki (JAES 67(6), 2019) discuss what can be heard; no standard sets a limit.
  it.each([
    ['soft', '4x', 1249, -150],
    ['soft', '4x', 4999, -100],
    ['soft', '4x', 9973, -60],
    ['soft', '8x', 9973, -100],
    ['hard clip', '4x', 1249, -63],
    ['hard clip', '4x', 4999, -48],
    ['hard clip', '8x', 4999, -60],
  ])('%s at %s, %d Hz: below %d dB', (curve, oversampling, hz, bound) => {
    const found = aliasing({ curve, oversampling, antialiasing: false, drive: driveOf(4) }, hz);
    expect(found).toBeLessThan(bound);
  });

  // With weighted means of the curve (Parker, Zavalishin, Le Bivic, DAFx 2016; Bilbao et al., IEEE SPL 24(7), 2017). A numpy
  // model that integrates the curve numerically, between ideal filters, gives at 48 kHz -87.9, -73.0 and -108.7 for the hard
  // clip at 4x (4999 and 9973 Hz) and 8x, -92.1 for the uneven one; bounds are up to 3 dB above.
  it.each([
    ['hard clip', '2x', 1249, 48000, -80],
    ['hard clip', '2x', 4999, 48000, -65],
    ['soft', '2x', 4999, 48000, -85],
    ['soft', '2x', 9973, 48000, -54],
    ['hard clip', '4x', 4999, 48000, -85],
    ['hard clip', '4x', 4999, 44100, -84],
    ['hard clip', '4x', 9973, 48000, -70],
    ['hard clip', '8x', 4999, 48000, -105],
    ['hard clip', '8x', 4999, 44100, -100],
    ['soft', '4x', 9973, 44100, -88],
    ['uneven clip', '4x', 4999, 48000, -85],
    ['uneven clip', '4x', 4999, 44100, -80],
  ])('%s at %s with anti-aliasing, %d Hz at %d Hz: below %d dB', (curve, oversampling, hz, rate, bound) => {
    // It is on unless it is switched off.
    const found = aliasing({ curve, oversampling, drive: driveOf(4) }, hz, rate);
    expect(found).toBeLessThan(bound);
  });
});
