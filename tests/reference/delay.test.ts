import { describe, expect, it } from 'vitest';
import type { Settings } from '../../src/dsp/parameter.ts';
import { impulse, stepOf, through } from '../helpers/chains.ts';

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
