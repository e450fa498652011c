import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { bandFiguresOf, spectrumOf } from '../../src/measure/spectrum.ts';
import { sumIntoThirdOctaves, thirdOctavesBelow, type BandSums } from '../../src/measure/third-octaves.ts';
import { joined, mono, scaled, silence, stereo, whiteNoise } from '../helpers/signals.ts';

const whole = ({ bands, rest }: BandSums): number => bands.reduce((sum, power) => sum + power, rest);
const meanSquare = (samples: Float32Array): number => samples.reduce((sum, x) => sum + x * x, 0) / samples.length;

describe('all bands and the rest together', () => {
  // Parseval: 0.01 dB is asked; the windows are made so that it is exact but for rounding.
  test('hold exactly the energy of the sound, of any length, rate and number of channels', () => {
    const sounds = fc.record({
      frames: fc.integer({ min: 1, max: 20000 }),
      rate: fc.constantFrom(8000, 11025, 22050, 32000),
      channels: fc.integer({ min: 1, max: 5 }),
      dc: fc.double({ min: -0.5, max: 0.5, noNaN: true }),
    });
    fc.assert(
      fc.property(sounds, ({ frames, rate, channels, dc }) => {
        const audio: Audio = {
          sampleRate: rate,
          channels: Array.from({ length: channels }, (_, c) =>
            whiteNoise(frames / rate, c + 1, 0.1, rate).map((x) => x + dc),
          ),
        };
        const expected = audio.channels.reduce((sum, samples) => sum + meanSquare(samples), 0);
        const { level, midSide } = spectrumOf(audio);
        expect(whole(level) / expected).toBeCloseTo(1, 9);
        if (midSide) expect((2 * (whole(midSide.mid) + whole(midSide.side))) / expected).toBeCloseTo(1, 9);
        else expect(channels).not.toBe(2);
      }),
      { numRuns: 25 },
    );
  });

  test('hold every bin once, wherever the band edges fall', () => {
    fc.assert(
      fc.property(fc.integer({ min: 5, max: 12 }), fc.integer({ min: 100, max: 200000 }), fc.nat(), (log, rate, at) => {
        const bins = new Float64Array(2 ** log + 1);
        bins[at % bins.length] = 1;
        expect(whole(sumIntoThirdOctaves(bins, rate))).toBeCloseTo(1, 12);
      }),
    );
  });

  test('a sound behind silence of its own length has half the power in every band', () => {
    const noise = whiteNoise(2, 1);
    const before = spectrumOf(mono(noise)).level.bands;
    const after = spectrumOf(mono(joined(silence(2), noise))).level.bands;
    // Above 500 Hz, where a band has bins enough to average over how the frames fall.
    before.forEach((power, band) => {
      if (band >= 13) expect(Math.abs(10 * Math.log10(after[band]! / power) + 3.0103)).toBeLessThan(0.4);
    });
  });
});

describe('band figures', () => {
  const at = (audio: Audio) => bandFiguresOf(spectrumOf(audio), audio.sampleRate);

  test('identical channels have no side, one channel alone has neither', () => {
    const noise = whiteNoise(1, 2);
    for (const { levelDb, sideToMidDb } of [...at(stereo(noise)), ...at(mono(noise))]) {
      expect(levelDb).not.toBeNull();
      expect(sideToMidDb).toBeNull();
    }
  });

  test('opposite channels have no mid', () => {
    const noise = whiteNoise(1, 3);
    for (const { sideToMidDb } of at(stereo(noise, scaled(noise, -1)))) expect(sideToMidDb).toBeNull();
  });

  test('one side alone has as much side as mid in every band', () => {
    const noise = whiteNoise(1, 4);
    for (const { sideToMidDb } of at(stereo(noise, new Float32Array(noise.length))))
      expect(sideToMidDb).toBeCloseTo(0, 9);
  });

  test('a gain moves every band by itself', () => {
    const noise = whiteNoise(1, 5);
    const before = at(mono(noise));
    at(mono(scaled(noise, 0.5))).forEach(({ levelDb }, n) => {
      expect(levelDb! - before[n]!.levelDb!).toBeCloseTo(-6.0206, 4);
    });
  });

  test('there are none at a rate that leaves no band, and any rate a file claims ends', () => {
    expect(thirdOctavesBelow(40)).toEqual([]);
    expect(at(mono(whiteNoise(1, 6, 0.1, 40), 40))).toEqual([]);
    expect(at(mono(Float32Array.of(1), 2 ** 32 - 1)).length).toBe(30);
  });
});
