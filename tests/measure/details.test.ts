import { describe, expect, test } from 'vitest';
import { DETAIL_DEFINITIONS } from '../../src/measure/definitions/detail-definitions.ts';
import { slopeOf } from '../../src/measure/details.ts';
import { measure, measureFully } from '../../src/measure/measure.ts';
import { joined, mono, pinkNoise, scaled, silence, sine, stereo, whiteNoise } from '../helpers/signals.ts';

describe('silence and noise floor', () => {
  const take = joined(
    silence(0.5),
    whiteNoise(2, 1, 0.1),
    whiteNoise(1, 2, 0.001),
    whiteNoise(2, 3, 0.1),
    silence(1.25),
  );
  const { details } = measureFully(mono(take));

  test('leading and trailing silence are told to 10 ms', () => {
    expect(details.leadingSilenceSeconds).toBeCloseTo(0.5, 9);
    expect(details.trailingSilenceSeconds).toBeCloseTo(1.25, 9);
  });

  // 24000 samples of noise at rms 0.001: its power strays by 4.34 sqrt(2 / 24000) = 0.04 dB, and the quietest of
  // fifty windows by up to some three times that.
  test('the noise floor is the level of the quiet passage', () => {
    expect(details.noiseFloorDbfs!).toBeGreaterThan(-60.15);
    expect(details.noiseFloorDbfs!).toBeLessThan(-59.96);
  });

  test('silence has neither', () => {
    const { details: none } = measureFully(stereo(silence(4)));
    for (const [key, value] of Object.entries(none)) {
      if (key === 'clippedRuns') expect(value).toBe(0);
      else if (key !== 'bandMonoLoss') expect(value, key).toBeNull();
    }
  });
});

describe('the true peak', () => {
  test('is told with its time and its channel', () => {
    const quiet = sine({ hz: 997, seconds: 2, db: -20 });
    const click = quiet.map((x, n) => (n === 60_000 ? 0.9 : x));
    const { details } = measureFully(stereo(quiet, click));
    expect(details.truePeakSeconds).toBeCloseTo(1.25, 4);
    expect(details.truePeakChannel).toBe(2);
    expect(measureFully(stereo(click, quiet)).details.truePeakChannel).toBe(1);
  });
});

describe('clipped runs', () => {
  test('are counted however the sound comes in pieces, a single full sample is none', () => {
    const left = new Float32Array(48_000).fill(0.1);
    left.fill(1, 100, 105).fill(-1, 105, 107);
    left[500] = 1;
    const right = left.map((_, n) => (n > 47_990 ? -1 : 0));
    expect(measureFully(stereo(left, right)).details.clippedRuns).toBe(3);
    expect(measureFully(mono(left)).details.clippedRuns).toBe(2);
    expect(measure(stereo(left, right)).clippedSamples).toBe(5 + 2 + 9);
  });
});

describe('peak to short-term', () => {
  // A 997 Hz sine alike in both channels reads its own peak level in LUFS (BS.1770), and peaks at that level.
  test('of a steady sine in both channels is 0 dB, and of its loudest stretch where that is the densest', () => {
    const tone = sine({ hz: 997, seconds: 6, db: -12 });
    expect(measureFully(stereo(tone)).details.minPsrDb!).toBeCloseTo(0, 1);
    const clicks = tone.map((x, n) => (n < 144_000 && n % 24_000 === 100 ? 1 : x));
    const { details, series } = measureFully(stereo(clicks));
    expect(details.minPsrDb!).toBeCloseTo(0, 1);
    expect(Math.max(...series.psrDb.filter((psr) => !Number.isNaN(psr)))).toBeGreaterThan(11.5);
  });
});

describe('stereo over time', () => {
  const [a, b] = [whiteNoise(2, 4), whiteNoise(2, 5)];
  const sound = stereo(joined(a, a, a), joined(a, scaled(a, -1), b));
  const { details, series } = measureFully(sound);

  test('the lowest correlation is that of the stretch where one side is inverted', () => {
    expect(details.minCorrelation!).toBeCloseTo(-1, 9);
    expect(series.correlation[150]!).toBeCloseTo(1, 9);
    expect(series.correlation[350]!).toBeCloseTo(-1, 9);
    expect(Math.abs(series.correlation[550]!)).toBeLessThan(0.05);
  });

  test('a window that is not full has no value, nor has a side to mid without side', () => {
    expect(series.correlation[38]).toBeNaN();
    expect(series.correlation[39]!).toBeCloseTo(1, 9);
    expect(series.sideToMidDb[150]).toBeNaN();
    expect(series.sideToMidDb[550]!).toBeCloseTo(0, 0);
  });

  test('lows alike under highs that are opposite have a correlation of +1', () => {
    const low = sine({ hz: 60, seconds: 5, db: -12 });
    const high = sine({ hz: 3000, seconds: 5, db: -12 });
    const { details: found } = measureFully(
      stereo(
        low.map((x, n) => x + high[n]!),
        low.map((x, n) => 0.5 * x - high[n]!),
      ),
    );
    expect(found.lowsCorrelation!).toBeCloseTo(1, 3);
    const opposite = measureFully(stereo(low, scaled(low, -0.3))).details;
    expect(opposite.lowsCorrelation!).toBeCloseTo(-1, 6);
  });

  test('unrelated channels lose 3.01 dB on folding in every band, alike ones nothing', () => {
    const noise = measureFully(stereo(whiteNoise(10, 6), whiteNoise(10, 7))).details.bandMonoLoss;
    // Bands from 1 kHz on hold enough of 10 s for 0.3 dB.
    for (const { hz, monoLossDb } of noise) if (hz > 900) expect(Math.abs(monoLossDb! + 3.0103)).toBeLessThan(0.3);
    const near = measureFully(stereo(a, scaled(a, 0.999))).details.bandMonoLoss;
    for (const { monoLossDb } of near) expect(Math.abs(monoLossDb!)).toBeLessThan(1e-5);
  });
});

describe('spectral slope', () => {
  test('of white noise is 0 dB per octave, of pink noise -3.01', () => {
    expect(slopeOf(measure(mono(whiteNoise(20, 8))).bands)!).toBeCloseTo(0, 1);
    expect(slopeOf(measure(mono(pinkNoise(20, 9))).bands)!).toBeCloseTo(-3.0103, 2);
  });

  test('does not exist where the bands end below 10 kHz', () => {
    expect(slopeOf(measure(mono(whiteNoise(2, 1, 0.1, 16_000), 16_000)).bands)).toBeNull();
  });
});

describe('onsets', () => {
  const bursts = (decay: number) => (x: number, n: number) => x * Math.exp(-(n % 24_000) / (decay * 48_000));
  const noise = whiteNoise(8, 12);
  const steady = measureFully(mono(noise)).details;
  const long = measureFully(mono(noise.map(bursts(0.2)))).details;
  const short = measureFully(mono(noise.map(bursts(0.03)))).details;

  test('are stronger the shorter the sounds, and weakest in steady noise', () => {
    expect(short.onsetStrength!).toBeGreaterThan(long.onsetStrength!);
    expect(long.onsetStrength!).toBeGreaterThan(0);
    expect(short.onsetToSustainDb!).toBeGreaterThan(long.onsetToSustainDb! + 1);
    expect(short.onsetToSustainDb!).toBeGreaterThan(steady.onsetToSustainDb! + 1);
  });

  test('do not depend on the level, on the order of channels, or on which of them plays', () => {
    const hits = noise.map(bursts(0.05));
    const one = measureFully(stereo(hits, silence(8))).details;
    const louder = measureFully(stereo(silence(8), scaled(hits, 2))).details;
    expect(louder.onsetStrength!).toBeCloseTo(one.onsetStrength!, 9);
    expect(louder.onsetToSustainDb!).toBeCloseTo(one.onsetToSustainDb!, 9);
  });

  test('a sine that only goes on has next to none', () => {
    expect(measureFully(mono(sine({ hz: 1000, seconds: 4 }))).details.onsetToSustainDb!).toBeLessThan(-20);
  });
});

describe('series and their figures', () => {
  test('the greatest of each series is the figure of the whole', () => {
    const sound = stereo(joined(whiteNoise(4, 13, 0.05), whiteNoise(4, 14, 0.2)), whiteNoise(8, 15));
    const { figures, series } = measureFully(sound);
    const greatest = (values: Float64Array): number => Math.max(...values.filter((value) => !Number.isNaN(value)));
    expect(greatest(series.momentaryLufs)).toBeCloseTo(figures.maxMomentaryLufs!, 9);
    expect(greatest(series.shortTermLufs)).toBeCloseTo(figures.maxShortTermLufs!, 9);
    expect(greatest(series.truePeakDbtp)).toBeCloseTo(figures.truePeakDbtp!, 9);
    for (const values of Object.values(series)) expect((values as Float64Array).length).toBe(800);
  });

  test('every detail has a definition, and each is a sentence', () => {
    const { details } = measureFully(mono(whiteNoise(1, 1)));
    expect(Object.keys(DETAIL_DEFINITIONS)).toEqual(Object.keys(details));
    for (const [key, { definition }] of Object.entries(DETAIL_DEFINITIONS))
      expect(definition, key).toMatch(/^[A-Z].+\.$/);
  });
});
