import { describe, expect, it } from 'vitest';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { impulse, stepOf, through, tone } from '../helpers/chains.ts';
import { motionOf } from '../helpers/moving-delay.ts';
import { fourier } from '../helpers/signals.ts';

/** Impulse response of the left side, repeats only. */
const repeats = (settings: Settings, frames: number, sampleRate = 48000): Float64Array =>
  through([stepOf('delay', { mix: 100, ...settings })], impulse(frames), sampleRate).left;

describe('repeat times from tempo (60000 / tempo x note, exact)', () => {
  it.each([
    ['120, quarter', 500, 48000, 24000],
    ['120, eighth', 250, 48000, 12000],
    ['120, dotted eighth', 375, 48000, 18000],
    ['120, eighth triplet', 166.6667, 48000, 8000],
    ['120, bar of four quarters', 2000, 48000, 96000],
    ['90, eighth', 333.3333, 48000, 16000],
    ['128, eighth', 234.375, 48000, 11250],
    // Not a whole number of samples: 10285.714, rounded to the nearest.
    ['140, eighth', 60000 / 140 / 2, 48000, 10286],
    ['174, dotted eighth', 258.6207, 44100, 11405],
  ])('tempo %s: %f ms at %d Hz is sample %d, and nothing before it', (_, time, rate, sample) => {
    const output = repeats({ time, feedback: 0 }, sample + 100, rate);
    expect(output[sample]).toBe(1);
    expect(output.filter((x) => x !== 0)).toHaveLength(1);
  });

  it('keeps each repeat on the multiple of the rounded time, without drift within it', () => {
    const output = repeats({ time: 60000 / 140 / 2, feedback: 50 }, 6 * 10286 + 1);
    for (let n = 1; n <= 6; n++) expect(output[n * 10286]).toBe(0.5 ** (n - 1));
  });
});

describe('decay by feedback (repeat n is g^n; T60 = -60 / (20 log10 g) x time)', () => {
  it.each([
    [0.5, 500, 9.96578428466, 4.98289214233],
    [0.7, 375, 19.3670887074, 7.26265826529],
    [0.8, 250, 30.9565534755, 7.73913836889],
    [0.9, 100, 65.5630359803, 6.55630359803],
    [0.35, 500, 6.5799292259, 3.28996461295],
  ])('feedback %f, %d ms: %f repeats and %f s to -60 dB', (gain, time, count, seconds) => {
    const spacing = (time * 48000) / 1000;
    const whole = Math.ceil(count) + 2;
    const output = repeats({ time, feedback: 100 * gain }, (whole + 1) * spacing);
    const levels = Array.from({ length: whole }, (_, n) => 20 * Math.log10(output[(n + 1) * spacing]!));
    const perRepeat = (levels.at(-1)! - levels[0]!) / (whole - 1);
    expect(perRepeat).toBeCloseTo(20 * Math.log10(gain), 9);
    expect(-60 / perRepeat).toBeCloseTo(count, 6);
    expect(((-60 / perRepeat) * time) / 1000).toBeCloseTo(seconds, 6);
  });
});

describe('modulation: a delay of d (1 - cos 2 pi f t) / 2 shifts the pitch by up to pi d f (Doppler)', () => {
  it.each([
    [1, 0.5],
    [4, 0.5],
    [1, 4],
  ])('%f ms at %f Hz', (modulation, rate) => {
    const settings = { time: 50, feedback: 0, mix: 100, modulation, rate };
    const { cents, gains } = motionOf([stepOf('delay', settings)]);
    const most = (Math.PI * modulation * rate) / 1000;
    expect(Math.max(...cents) / (1200 * Math.log2(1 + most))).toBeCloseTo(1, 2);
    expect(Math.min(...cents) / (1200 * Math.log2(1 - most))).toBeCloseTo(1, 2);
    for (const gain of gains) expect(Math.abs(gain - 1)).toBeLessThan(1e-3);
  });
});

describe('tape wear: tanh behind two first-order corners', () => {
  /** Gain of the corners at 60 Hz and 5 kHz (bilinear transform). */
  const cornersAt = (hz: number): number => {
    const t = (f: number): number => Math.tan((Math.PI * f) / 48000);
    return 1 / Math.hypot(1, t(hz) / t(5000)) / Math.hypot(1, t(60) / t(hz));
  };
  /** Amplitudes of bins of the last 48000 samples of the first repeat of a sine: one bin a hertz. */
  const spectrum = (hz: number, peak: number): Float64Array => {
    const settings = { time: 10, feedback: 0, mix: 100, tape: 100 };
    const re = through([stepOf('delay', settings)], tone(hz, 65536 + 24000, peak)).left.slice(24000);
    const im = new Float64Array(65536);
    fourier(re, im);
    return re.map((x, bin) => Math.hypot(x, im[bin]!) / 32768);
  };

  // Table of tanh (H3 / H1 at peaks 0.5 and 1, dB); the driven sine has twice the peak behind the corners.
  it.each([
    [0.5, -34.14944],
    [1, -23.50033],
  ])('driven to %f: third harmonic at %f dB', (driven, h3) => {
    const bin = 1024; // 750 Hz
    const h = spectrum((bin * 48000) / 65536, driven / 2 / cornersAt((bin * 48000) / 65536));
    expect(20 * Math.log10(h[3 * bin]! / h[bin]!)).toBeCloseTo(h3, 3);
  });

  it('throws little back: 5 kHz at -12 dBFS leaves less than -100 dB beside its harmonics, up to 20 kHz', () => {
    const bin = 6827;
    const h = spectrum((bin * 48000) / 65536, 0.25);
    let other = 0;
    for (let n = 1; n < 27306; n++) if (n % bin !== 0) other += h[n]! ** 2;
    expect(10 * Math.log10(other) - 20 * Math.log10(h[bin]!)).toBeLessThan(-100);
  });
});
