import { describe, expect, test } from 'vitest';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import type { KeySignal } from '../../src/dsp/core/processor.ts';
import { processor } from '../../src/dsp/processors/widener.ts';
import { measure } from '../../src/measure/measure.ts';
import { spectrumOf } from '../../src/measure/spectrum.ts';
import { thirdOctavesBelow } from '../../src/measure/third-octaves.ts';
import { both, firstDifference, later, noise, steady, stepOf, through, tone } from '../helpers/chains.ts';
import { pinkNoise } from '../helpers/signals.ts';
import { levelAt } from '../helpers/tones.ts';

const latency = processor.latency(stepOf('widener').values, 48000);
const widened = (settings: Settings, input: KeySignal): KeySignal => through([stepOf('widener', settings)], input);

const audioOf = ({ left, right }: KeySignal, from = 0) => ({
  sampleRate: 48000,
  channels: [Float32Array.from(left.subarray(from)), Float32Array.from(right.subarray(from))],
});

const pink = (seed: number, seconds = 2): Float64Array => Float64Array.from(pinkNoise(seconds, seed));
const monoPink = both(pink(1));
const stereoPink: KeySignal = { left: pink(2), right: pink(3) };

const most = (samples: Float64Array): number => samples.reduce((peak, x) => Math.max(peak, Math.abs(x)), 0);

/** Level of mid in each third of an octave from 31.5 Hz to 16 kHz, dB. */
const foldBands = (signal: KeySignal): number[] =>
  [...spectrumOf(audioOf(signal)).midSide!.mid.bands]
    .filter((_, band) => {
      const { hz } = thirdOctavesBelow(48000)[band]!;
      return hz > 30 && hz < 17000;
    })
    .map((power) => 10 * Math.log10(power));

describe('folded to mono', () => {
  const settings: readonly Settings[] = [
    { decorrelation: 100 },
    { lowWidth: 0, midWidth: 200, highWidth: 100 },
    { monoBelow: 200, highWidth: 200, decorrelation: 60 },
  ];
  test.each(settings)('every third of an octave keeps its level: %j', (setting) => {
    for (const input of [monoPink, stereoPink]) {
      const before = foldBands(later(input, latency));
      // The windows of the spectrum see phases that turned: 0.1 dB, where 1 dB is asked for.
      foldBands(widened(setting, input)).forEach((db, band) => expect(Math.abs(db - before[band]!)).toBeLessThan(0.1));
    }
  });

  test('decorrelation alone leaves the fold to the last rounding', () => {
    const { left, right } = widened({ decorrelation: 100 }, stereoPink);
    const late = later(stereoPink, latency);
    expect(most(late.left.map((x, n) => x + late.right[n]! - left[n]! - right[n]!))).toBeLessThan(1e-14);
  });

  test('a short delay combs as its picture says', () => {
    const setting = { delay: 5, monoBelow: 60 };
    const points = processor.picture.points(stepOf('widener', setting).values, 48000, 4000);
    expect(Math.min(...points.map(([, db]) => db))).toBe(-24);
    for (const hz of [30, 50, 200, 260, 400]) {
      const { left, right } = widened(setting, tone(hz, 48000));
      const fold = left.map((x, n) => (x + right[n]!) / 2).subarray(24000);
      const [, db] = points.find(([at]) => at >= hz)!;
      expect(Math.abs(levelAt(fold, hz) - db)).toBeLessThan(0.1);
    }
  });
});

describe('width by band', () => {
  /** Gain of the side at `hz`, dB. */
  const sideGain = (settings: Settings, hz: number): number => {
    const { left } = tone(hz, 48000);
    const output = widened(settings, { left, right: left.map((x) => -x) });
    const side = output.left.map((x, n) => (x - output.right[n]!) / 2);
    return levelAt(side.subarray(24000), hz);
  };

  test('turns each band up or down by its own setting, the middle between two at the corner', () => {
    const settings = { lowWidth: 50, midWidth: 100, highWidth: 200, lowCorner: 200, highCorner: 5000 };
    const db = (gain: number): number => 20 * Math.log10(gain);
    expect(Math.abs(sideGain(settings, 30) - db(0.5))).toBeLessThan(0.02);
    expect(Math.abs(sideGain(settings, 1000) - db(1))).toBeLessThan(0.03);
    expect(Math.abs(sideGain(settings, 16000) - db(2))).toBeLessThan(0.02);
    expect(Math.abs(sideGain(settings, 200) - db(0.75))).toBeLessThan(0.001);
    expect(Math.abs(sideGain(settings, 5000) - db(1.5))).toBeLessThan(0.001);
  });

  test('is what the picture shows', () => {
    const settings = { lowWidth: 30, midWidth: 180, highWidth: 90, monoBelow: 80 };
    const points = processor.picture.points(stepOf('widener', settings).values, 48000, 4);
    for (const [hz, db] of points.slice(1))
      expect(Math.abs(sideGain(settings, Math.round(hz)) - db)).toBeLessThan(0.05);
  });

  test('with equal gains is that gain alone, without a crossover', () => {
    const { left, right } = widened({ lowWidth: 150, midWidth: 150, highWidth: 150 }, stereoPink);
    const late = later(stereoPink, latency);
    expect(most(late.left.map((x, n) => 1.5 * (x - late.right[n]!) - left[n]! + right[n]!))).toBeLessThan(1e-14);
  });

  test('lows below the mono corner are the same on both sides, however wide the rest', () => {
    const { left } = tone(40, 48000);
    const output = widened(
      { monoBelow: 160, lowWidth: 200, midWidth: 200, highWidth: 200, decorrelation: 100, delay: 12 },
      { left, right: new Float64Array(48000) },
    );
    const side = output.left.map((x, n) => (x - output.right[n]!) / 2).subarray(24000);
    const mid = output.left.map((x, n) => (x + output.right[n]!) / 2).subarray(24000);
    // Two octaves below the corner a side of twice the level is 48 - 6 dB down.
    expect(levelAt(side, 40) - levelAt(mid, 40)).toBeLessThan(-40);
  });
});

describe('short delay', () => {
  test('makes one side late by whole samples and leaves the other as it is', () => {
    const input = noise(6000, 4);
    const [inTime, late] = [later(input, latency), later(input, latency + 480)];
    const right = widened({ delay: 10 }, input);
    expect(firstDifference(right, { left: inTime.left, right: late.right })).toBe(null);
    const left = widened({ delay: 10, delayedSide: 'left' }, input);
    expect(firstDifference(left, { left: late.left, right: inTime.right })).toBe(null);
  });
});

describe('keep loudness', () => {
  const loudness = (signal: KeySignal): number => measure(audioOf(signal, 24000)).integratedLufs!;

  test.each<Settings>([
    { decorrelation: 100 },
    { lowWidth: 0, midWidth: 200, highWidth: 200 },
    { lowWidth: 0, midWidth: 0, highWidth: 0 },
    { monoBelow: 500, delay: 20 },
  ])('the result is as loud as the input, whatever the width: %j', (settings) => {
    const before = loudness(stereoPink);
    expect(Math.abs(loudness(widened({ ...settings, keepLoudness: true }, stereoPink)) - before)).toBeLessThan(0.1);
  });

  test('changes no sample while nothing else changes the sound', () => {
    const input = noise(20000, 5);
    expect(firstDifference(widened({ keepLoudness: true }, input), later(input, latency))).toBe(null);
  });

  test('stays where it is in silence', () => {
    const input = { left: noise(12000, 6).left, right: noise(12000, 7).left };
    const gap = steady(0, 48000).left;
    const long = (side: Float64Array): Float64Array =>
      Float64Array.from([...side, ...gap, ...side, ...gap.slice(0, latency)]);
    const output = widened(
      { midWidth: 200, lowWidth: 200, highWidth: 200, keepLoudness: true },
      { left: long(input.left), right: long(input.right) },
    );
    const gainAt = (n: number): number =>
      (output.left[n + latency]! + output.right[n + latency]!) / (long(input.left)[n]! + long(input.right)[n]!);
    // Independent sides have as much side as mid, and 1 + 2^2 is 2.5 times 1 + 1.
    expect(Math.abs(gainAt(60001) - 1 / Math.sqrt(2.5))).toBeLessThan(0.01);
    expect(Math.abs(gainAt(71999) - gainAt(60001))).toBeLessThan(0.01);
  });
});
