import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Measurement } from '../../src/measure/figures.ts';
import { measure, measureFully, measurementOf } from '../../src/measure/measure.ts';
import { Meter } from '../../src/measure/meter.ts';
import { added, joined, mono, pinkNoise, scaled, silence, stereo, whiteNoise } from '../helpers/signals.ts';

// Of one length: pink noise comes in powers of two.
const [left, right] = [pinkNoise(6, 21).slice(0, 288_000), whiteNoise(6, 22, 0.05)];
const sound = measure(stereo(left, right));

/** All but what swapping sides turns. */
const without = ({ stereo: { balanceDb, ...kept }, ...figures }: Measurement) => ({
  ...figures,
  stereo: kept,
  balanceDb,
});

describe('channels', () => {
  test('swapped leave every figure but the balance, which turns', () => {
    const { balanceDb, ...swapped } = without(measure(stereo(right, left)));
    const { balanceDb: before, ...kept } = without(sound);
    expect(balanceDb).toBeCloseTo(-before!, 9);
    expect(rounded(swapped)).toEqual(rounded(kept));
  });

  test('both inverted leave every figure but the offset, which turns', () => {
    const { dcOffset, ...turned } = measure(stereo(scaled(left, -1), scaled(right, -1)));
    const { dcOffset: before, ...kept } = sound;
    expect(dcOffset).toBe(-before!);
    expect(turned).toEqual(kept);
  });

  test('one inverted leaves loudness, peaks and spectrum', () => {
    const turned = measure(stereo(left, scaled(right, -1)));
    const { dcOffset, stereo: figures, bands } = turned;
    expect({ ...sound, dcOffset, stereo: figures, bands }).toEqual(turned);
    bands.forEach(({ levelDb }, n) => expect(levelDb).toBeCloseTo(sound.bands[n]!.levelDb!, 9));
  });
});

const rounded = (value: unknown): unknown =>
  JSON.parse(JSON.stringify(value, (_, each: unknown) => (typeof each === 'number' ? Number(each.toFixed(9)) : each)));

describe('sound behind sound', () => {
  const quiet = pinkNoise(6, 23, 0.04).slice(0, 288_000);
  const both = measure(mono(joined(left, quiet)));
  const [first, second] = [measure(mono(left)), measure(mono(quiet))];

  test('has the mean power of the two, in the rms and in every band', () => {
    const powerOf = (db: number | null): number => 10 ** (db! / 10);
    const mean = (a: number | null, b: number | null): number => 10 * Math.log10((powerOf(a) + powerOf(b)) / 2);
    expect(both.rmsDbfs).toBeCloseTo(mean(first.rmsDbfs, second.rmsDbfs), 6);
    both.bands.forEach(({ hz, levelDb }, n) => {
      const expected = mean(first.bands[n]!.levelDb, second.bands[n]!.levelDb);
      // The frame across the joint sees what neither part alone does: of some 12 frames of noise in bands that hold from
      // 4 bins on, that is far less at the higher bands.
      expect(Math.abs(levelDb! - expected), `${hz} Hz`).toBeLessThan(hz > 1000 ? 0.05 : 0.5);
    });
  });

  test('has the greater of the peaks, and of the maxima at least that', () => {
    expect(both.samplePeakDbfs).toBe(Math.max(first.samplePeakDbfs!, second.samplePeakDbfs!));
    expect(both.truePeakDbtp!).toBeGreaterThanOrEqual(Math.max(first.truePeakDbtp!, second.truePeakDbtp!) - 0.01);
    expect(both.maxMomentaryLufs!).toBeGreaterThanOrEqual(first.maxMomentaryLufs!);
    expect(both.maxShortTermLufs!).toBeGreaterThanOrEqual(first.maxShortTermLufs!);
  });

  test('is between the two in loudness', () => {
    expect(both.integratedLufs!).toBeLessThan(first.integratedLufs!);
    expect(both.integratedLufs!).toBeGreaterThan(second.integratedLufs!);
  });

  test('repeated any number of times has the loudness, the spectrum and the levels of once', () => {
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 5 }), (times) => {
        const again = measure(mono(joined(...Array.from({ length: times }, () => left))));
        expect(again.rmsDbfs).toBeCloseTo(first.rmsDbfs!, 6);
        expect(again.crestDb).toBeCloseTo(first.crestDb!, 6);
        // Blocks across the joints are new: 3 to every 57, each within a few LU of the mean.
        expect(Math.abs(again.integratedLufs! - first.integratedLufs!)).toBeLessThan(0.1);
      }),
      { numRuns: 4 },
    );
  });
});

describe('the same sound later', () => {
  test('by any number of whole 10 ms measures the same, but for how much silence there is', () => {
    const once = measureFully(stereo(left, right));
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 99 }), (blocks) => {
        const lead = silence(blocks / 100);
        const late = measureFully(stereo(joined(lead, left), joined(lead, right)));
        expect(late.figures.maxMomentaryLufs).toBeCloseTo(once.figures.maxMomentaryLufs!, 9);
        expect(late.figures.maxShortTermLufs).toBeCloseTo(once.figures.maxShortTermLufs!, 9);
        expect(late.figures.truePeakDbtp).toBeCloseTo(once.figures.truePeakDbtp!, 9);
        expect(late.figures.samplePeakDbfs).toBe(once.figures.samplePeakDbfs);
        expect(late.figures.stereo.correlation).toBeCloseTo(once.figures.stereo.correlation!, 9);
        expect(late.figures.stereo.monoLossLu).toBeCloseTo(once.figures.stereo.monoLossLu!, 9);
        expect(late.details.noiseFloorDbfs).toBeCloseTo(once.details.noiseFloorDbfs!, 9);
        expect(late.details.leadingSilenceSeconds).toBeCloseTo(blocks / 100, 9);
        expect(late.details.truePeakSeconds).toBeCloseTo(once.details.truePeakSeconds! + blocks / 100, 6);
        // Up to 3 blocks more hold a part of the sound; those of whole silence are gated.
        expect(Math.abs(late.figures.integratedLufs! - once.figures.integratedLufs!)).toBeLessThan(0.2);
      }),
      { numRuns: 4 },
    );
  });
});

describe('folding to mono', () => {
  // 10 log10((1 + rho) / 2) for two channels of one level and correlation rho.
  test.each([1, 0.5, 0, -0.5, -0.9])('of channels of one level with correlation %f costs what the law says', (rho) => {
    const [a, b] = [pinkNoise(10, 24), pinkNoise(10, 25)];
    const other = added(scaled(a, rho), scaled(b, Math.sqrt(1 - rho * rho)));
    const { stereo: figures, bands } = measure(stereo(a, other));
    const law = 10 * Math.log10((1 + rho) / 2);
    // Ten seconds of noise: rho strays by some 0.003, which weighs most where little is left.
    expect(Math.abs(figures.monoLossLu! - law)).toBeLessThan(rho === -0.9 ? 0.3 : 0.06);
    if (rho === 1) return;
    const width = bands.find(({ hz }) => hz === 10000)!.sideToMidDb!;
    expect(Math.abs(width - 10 * Math.log10((1 - rho) / (1 + rho)))).toBeLessThan(0.3);
  });

  test('leaves a fold that is quieter by the loss and by the 3.01 LU of one channel for two', () => {
    const fold = added(scaled(left, 0.5), scaled(right, 0.5));
    const change = measure(mono(fold)).integratedLufs! - sound.integratedLufs!;
    // The loss is over all frames, loudness over blocks: steady noise differs little.
    expect(Math.abs(change - (sound.stereo.monoLossLu! - 10 * Math.log10(2)))).toBeLessThan(0.01);
  });
});

describe('a meter that is read while sound still comes', () => {
  test('tells at any time what the sound so far measures', () => {
    const audio = stereo(left, right);
    const meter = new Meter(48_000, 2);
    let from = 0;
    for (const to of [1234, 48_000, 200_001, 288_000]) {
      meter.push(audio.channels, from, to - from);
      from = to;
      const soFar = stereo(left.slice(0, to), right.slice(0, to));
      expect(measurementOf(meter)).toEqual(measure(soFar));
    }
  });
});
