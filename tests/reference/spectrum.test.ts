import { describe, expect, test } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { measure } from '../../src/measure/measure.ts';
import { bandFiguresOf, spectrumOf } from '../../src/measure/spectrum.ts';
import { thirdOctavesBelow } from '../../src/measure/third-octaves.ts';
import { faded, mono, pinkNoise, sine, stereo, whiteNoise } from '../helpers/signals.ts';

const levels = (audio: Audio): Map<number, number> =>
  new Map(bandFiguresOf(spectrumOf(audio), audio.sampleRate).map(({ hz, levelDb }) => [Math.round(hz), levelDb!]));
const meanSquareDb = (samples: Float32Array): number =>
  10 * Math.log10(samples.reduce((sum, x) => sum + x * x, 0) / samples.length);

describe('third octaves of IEC 61260-1, base 10', () => {
  // Exact mid and edge frequencies of the standard's formula, to 1e-4.
  test.each([
    [31.6228, 28.1838, 35.4813],
    [100, 89.1251, 112.2018],
    [125.8925, 112.2018, 141.2538],
    [1000, 891.2509, 1122.0185],
    [7943.2823, 7079.4578, 8912.5094],
    [15848.9319, 14125.3754, 17782.7941],
    [19952.6231, 17782.7941, 22387.2114],
  ])('the band at %f Hz reaches from %f to %f Hz', (mid, lower, upper) => {
    const band = thirdOctavesBelow(48000).find(({ hz }) => Math.abs(hz - mid) < 1e-4)!;
    expect(Math.abs(band.lower - lower)).toBeLessThan(1e-4);
    expect(Math.abs(band.upper - upper)).toBeLessThan(1e-4);
  });

  test('30 bands reach from 25 Hz to 20 kHz, and fewer at low rates', () => {
    const bands = thirdOctavesBelow(48000);
    expect(bands.length).toBe(30);
    expect(bands[0]!.hz).toBeCloseTo(25.1189, 4);
    expect(thirdOctavesBelow(8000).at(-1)!.hz).toBeCloseTo(3981.0717, 4);
    expect(thirdOctavesBelow(44100).length).toBe(30);
  });
});

describe('the long-term spectrum', () => {
  // A band of white noise holds power in proportion to its width, and every third octave is 10^0.1 times wider than
  // the one before. Over 60 s a band of width B strays by about 4.34 / sqrt(60 B) dB; four times that is allowed.
  test('of white noise rises 1 dB from band to band', () => {
    const noise = whiteNoise(60, 1);
    const total = meanSquareDb(noise);
    for (const { hz, levelDb } of bandFiguresOf(spectrumOf(mono(noise)), 48000)) {
      const width = hz * (10 ** 0.05 - 10 ** -0.05);
      const expected = 10 * Math.log10(width / 24000);
      expect(Math.abs(levelDb! - total - expected)).toBeLessThan((4 * 4.34) / Math.sqrt(60 * width));
    }
  });

  // At 48 kHz: 10 log10(230.77 / 24000), and for the three thirds of the octave 10 log10(704.59 / 24000).
  test('of white noise holds -20.17 dB of the whole in the third, -15.32 dB in the octave at 1 kHz', () => {
    const noise = whiteNoise(60, 2);
    const bands = levels(mono(noise));
    const octave = 10 * Math.log10([794, 1000, 1259].reduce((sum, hz) => sum + 10 ** (bands.get(hz)! / 10), 0));
    expect(Math.abs(bands.get(1000)! - meanSquareDb(noise) + 20.1704)).toBeLessThan(0.15);
    expect(Math.abs(octave - meanSquareDb(noise) + 15.3227)).toBeLessThan(0.1);
  });

  // The noise is made of cosines with power exactly 1/f from 20 Hz to 20 kHz: ln(10^0.1) / ln(1000) of it in each band.
  // The band at 20 kHz is cut at 20 kHz and left out here. Frames that overlap by a quarter weigh the beats between the
  // cosines of the lowest bands, a few dozen per frame, less evenly than more overlap would: 0.05 dB is left for that
  // below 200 Hz (a statistical spread of 0.3 dB is what true noise of this length has there), 0.02 dB above.
  test('of pink noise is level from band to band', () => {
    const bands = levels(mono(pinkNoise(40, 3, 1)));
    const expected = 10 * Math.log10(Math.LN10 / 10 / Math.log(1000));
    for (const [hz, level] of bands) {
      if (hz < 19000) expect(Math.abs(level - expected)).toBeLessThan(hz < 200 ? 0.05 : 0.02);
    }
  });

  // Faded, as a sine that starts at once has real energy in every band; the side lobes of the window come to -102 dB.
  test('of a 1 kHz sine reads its level in its band and next to nothing elsewhere', () => {
    const tone = faded(sine({ hz: 1000, seconds: 10 }), 1);
    const bands = levels(mono(tone));
    expect(bands.get(1000)!).toBeCloseTo(meanSquareDb(tone), 4);
    for (const [hz, level] of bands) if (hz !== 1000) expect(level).toBeLessThan(-100);
  });

  test('reads -3.01 dB for a full-scale sine', () => {
    expect(levels(mono(sine({ hz: 1000, seconds: 10 }))).get(1000)!).toBeCloseTo(-3.0103, 3);
  });

  test('sums the channels: the same sine in both reads 0 dB', () => {
    expect(levels(stereo(sine({ hz: 1000, seconds: 10 }))).get(1000)!).toBeCloseTo(0, 3);
  });

  // What the README says the bands sum to. Pink noise from 20 Hz: the lowest band begins at 22.4 Hz, and 1.6 % (0.07 dB) lies below.
  test('adds up to RMS for one channel, and to RMS and 3.01 dB for two', () => {
    const [left, right] = [pinkNoise(20, 5), pinkNoise(20, 6)];
    const excess = (audio: Audio): number =>
      10 * Math.log10([...levels(audio).values()].reduce((sum, db) => sum + 10 ** (db / 10), 0)) -
      measure(audio).rmsDbfs!;
    expect(Math.abs(excess(mono(left)))).toBeLessThan(0.1);
    expect(Math.abs(excess(stereo(left, right)) - 10 * Math.log10(2))).toBeLessThan(0.1);
  });

  test('tells side from mid band by band', () => {
    const low = faded(sine({ hz: 100, seconds: 5, db: -12 }), 1);
    const high = faded(sine({ hz: 5000, seconds: 5, db: -12 }), 1);
    // 100 Hz alike on both sides at 1, 5 kHz opposite at 1 and alike at 0.5: side over mid 6.02 dB there.
    const left = low.map((x, n) => x + 1.5 * high[n]!);
    const right = low.map((x, n) => x - 0.5 * high[n]!);
    const bands = measure(stereo(left, right)).bands;
    const at = (hz: number): number | null => bands.find((band) => Math.round(band.hz) === hz)!.sideToMidDb;
    expect(at(5012)!).toBeCloseTo(6.0206, 3);
    expect(at(100)!).toBeLessThan(-80);
  });
});
