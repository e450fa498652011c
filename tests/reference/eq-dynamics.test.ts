import { describe, expect, test } from 'vitest';
import { decibelsOf, gainOf } from '../../src/audio/decibels.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { EqKernel, processor } from '../../src/dsp/processors/eq.ts';
import { both, firstDifference, noise, peakOf, stepOf, through, tone } from '../helpers/chains.ts';

// Static curve of D. Giannoulis, M. Massberg, J. Reiss 2012 with a knee of 6 dB, on rms levels: a sine of peak p reads
// p - 3.0103 dB. That the band's gain moves by it, the detector hears the band's own band-pass, and the smoothing is one
// pole in dB are this project's definitions.

const band: Settings = {
  'band1.on': true,
  'band1.frequency': 1000,
  'band1.q': 2,
  'band1.dynamic': 'down',
  'band1.threshold': -30,
  'band1.ratio': 4,
  'band1.range': 24,
  'band1.attack': 10,
  'band1.release': 50,
};

/** Level change of a settled sine through the EQ, dB. */
const change = (settings: Settings, hz = 1000, peakDb = -15): number => {
  const input = tone(hz, 48000, gainOf(peakDb));
  return decibelsOf(peakOf(through([stepOf('eq', settings)], input), 40000)) - peakDb;
};

describe('a dynamic band', () => {
  test.each([
    [-6, 0.75 * (-6 - 3.0103 + 30)],
    [-15, 0.75 * (-15 - 3.0103 + 30)],
    [-24, 0.75 * (-24 - 3.0103 + 30)],
    // In the knee: slope (over + 3)^2 / 12, at -30 dB rms 0.5625 dB.
    [-26.9897, 0.5625],
    [-40, 0],
  ])('turns a sine of %d dB peak down by the static curve', (peakDb, reduction) => {
    // The average over a cycle leaves a ripple of 8 % at twice the frequency; smoothing by 10 and 50 ms takes it below 0.1 dB.
    expect(Math.abs(change(band, 1000, peakDb) + reduction)).toBeLessThan(0.15);
  });

  test('turns it up by as much in the other direction', () => {
    const up = { ...band, 'band1.dynamic': 'up' };
    expect(Math.abs(change(up) - 0.75 * 11.9897)).toBeLessThan(0.15);
    expect(change(up, 1000, -60)).toBeCloseTo(0, 9);
  });

  test('starts from the gain that is set, and goes no further than its range', () => {
    expect(change({ ...band, 'band1.gain': 6, 'band1.range': 5 })).toBeCloseTo(1, 2);
    expect(change({ ...band, 'band1.gain': 6, 'band1.range': 5 }, 1000, -60)).toBeCloseTo(6, 2);
  });

  test('hears what lies in it: the same level two octaves away moves it at 17.6 dB less', () => {
    // Cookbook band-pass of Q 2 at 1 kHz lets 250 Hz through at -17.6 dB: below the threshold.
    const kernel = (hz: number): number => {
      const running = new EqKernel(valuesFrom(processor.parameters, band), 48000);
      const { left, right } = tone(hz, 48000, gainOf(-15));
      for (let from = 0; from < 48000; from += 64) {
        running.control();
        running.process(left, right, from, from + 64);
      }
      return running.shiftsDb[0]!;
    };
    expect(kernel(1000)).toBeLessThan(-8.8);
    expect(kernel(250)).toBe(0);
  });

  test('of a shelf hears beyond its frequency, of a tilt above it', () => {
    const moved = (shape: string, hz: number): number => {
      const running = new EqKernel(
        valuesFrom(processor.parameters, { ...band, 'band1.shape': shape, 'band1.q': 0.7 }),
        48000,
      );
      const { left, right } = tone(hz, 24000, gainOf(-15));
      for (let from = 0; from < 24000; from += 64) {
        running.control();
        running.process(left, right, from, from + 64);
      }
      return running.shiftsDb[0]!;
    };
    for (const shape of ['high shelf', 'tilt']) {
      expect(moved(shape, 8000)).toBeLessThan(-8.5);
      expect(moved(shape, 100)).toBe(0);
    }
    expect(moved('low shelf', 100)).toBeLessThan(-8.5);
    expect(moved('low shelf', 8000)).toBe(0);
  });

  test('on the side hears the side alone', () => {
    const settings = { ...band, 'band1.mode': 'side' };
    const centred = tone(1000, 24000, gainOf(-6));
    expect(firstDifference(through([stepOf('eq', settings)], centred), centred)).toBe(null);
    const wide = { left: centred.left, right: centred.left.map((x) => -x) };
    const reduced = decibelsOf(peakOf(through([stepOf('eq', settings)], wide), 20000)) + 6;
    expect(Math.abs(reduced + 0.75 * 20.9897)).toBeLessThan(0.15);
  });

  test('makes 63 % of its way in the attack time, and of its way back in the release time', () => {
    const settings = { ...band, 'band1.attack': 100, 'band1.release': 200, 'band1.q': 0.5 };
    const running = new EqKernel(valuesFrom(processor.parameters, settings), 48000);
    const sound = tone(1000, 96000, gainOf(-15)).left;
    sound.fill(0, 48000);
    const { left, right } = both(sound);
    const at = new Map<number, number>();
    for (let from = 0; from < 96000; from += 64) {
      running.control();
      running.process(left, right, from, from + 64);
      at.set(from + 64, running.shiftsDb[0]!);
    }
    const near = (frame: number): number => at.get(64 * Math.round(frame / 64))!;
    const full = near(48000);
    // Detector and band-pass take a few ms of their own.
    expect(near(4800 + 200) / full).toBeGreaterThan(0.58);
    expect(near(4800) / full).toBeLessThan(0.64);
    expect(near(48000 + 9600) / full).toBeGreaterThan(0.36);
    expect(near(48000 + 9600) / full).toBeLessThan(0.4);
  });

  test('below its threshold is a wire', () => {
    const soft = noise(20000, 3, 1e-3);
    expect(firstDifference(through([stepOf('eq', band)], soft), soft)).toBe(null);
  });
});
