import { describe, expect, test } from 'vitest';
import { Chain } from '../../src/dsp/core/chain.ts';
import { decibelsOf } from '../../src/audio/decibels.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { CONTROL_FRAMES, type KeySignal } from '../../src/dsp/core/processor.ts';
import { processor, SubOctaveKernel } from '../../src/dsp/processors/sub-octave.ts';
import { loudestBurstDb } from '../helpers/bursts.ts';
import { both, peakOf, run, steady, stepOf, through, tone } from '../helpers/chains.ts';
import { powerSpectrum } from '../helpers/splatter.ts';
import { levelAt } from '../helpers/tones.ts';

const ALONE = { amount: 100, output: 'sub only' };
const divided = (settings: Settings, input: KeySignal): KeySignal => through([stepOf('sub-octave', settings)], input);

/** A note of a fundamental and two harmonics, peak levels. */
const note = (hz: number, seconds: number, levels: readonly number[]): Float64Array =>
  Float64Array.from({ length: seconds * 48000 }, (_, n) =>
    levels.reduce((sum, level, k) => sum + level * Math.sin((2 * Math.PI * (k + 1) * hz * n) / 48000 + k), 0),
  );

describe('under a sine', () => {
  test.each([30, 55, 80, 120])('of %d Hz stands one of half the frequency, as loud, and nothing else', (hz) => {
    const { left, right } = divided(ALONE, tone(hz, 192000, 0.5));
    const settled = left.subarray(48000);
    // The high cut takes 0.02 dB of 60 Hz; elsewhere the level is exact.
    expect(Math.abs(levelAt(settled.subarray(0, 96000), hz / 2) - decibelsOf(0.5))).toBeLessThan(0.025);
    expect(right).toEqual(left);
    const power = powerSpectrum(settled);
    const hzPerBin = 24000 / power.length;
    let sub = 0;
    let rest = 0;
    power.forEach((p, bin) => {
      if (Math.abs(bin * hzPerBin - hz / 2) < 3) sub += p;
      else rest += p;
    });
    expect(10 * Math.log10(rest / sub)).toBeLessThan(-80);
  });

  test('the amount is its level against the fundamental: 40 Hz under 80 Hz, 6 dB softer at 50 %', () => {
    const output = divided({ amount: 50 }, tone(80, 144000, 0.5)).left.subarray(96000);
    expect(Math.abs(levelAt(output, 40) - levelAt(output, 80) + 6.0206)).toBeLessThan(0.005);
    expect(levelAt(output, 80)).toBeCloseTo(decibelsOf(0.5), 6);
  });

  test('the kernel reports its level', () => {
    const kernel = new SubOctaveKernel(valuesFrom(processor.parameters, { amount: 25 }), 48000);
    const { left, right } = tone(60, 48000, 0.5);
    for (let from = 0; from < 48000; from += CONTROL_FRAMES) {
      kernel.control();
      kernel.process(left, right, from, from + CONTROL_FRAMES);
    }
    expect(kernel.levelDb).toBeCloseTo(decibelsOf(0.125), 3);
  });

  test('it is as much softer as the sine, down to the softest', () => {
    const loud = divided(ALONE, tone(80, 24000, 0.5)).left;
    const soft = divided(ALONE, tone(80, 24000, 0.5e-5)).left;
    expect(peakOf(both(loud.map((x, n) => x - 1e5 * soft[n]!)))).toBeLessThan(1e-9);
  });

  test('out of range there is none', () => {
    for (const hz of [170, 1000]) {
      const { left } = divided(ALONE, tone(hz, 96000, 0.5));
      expect(peakOf(both(left), 24000), `${hz} Hz`).toBe(0);
    }
    expect(
      levelAt(divided({ ...ALONE, highestFundamental: 60 }, tone(100, 96000)).left.subarray(48000), 50),
    ).toBeLessThan(-200);
  });

  test('the picture shows its level over the note', () => {
    const settings = { ...ALONE, amount: 60, highCut: 40 };
    const points = processor.picture.points(stepOf('sub-octave', settings).values, 48000, 2000);
    for (const hz of [36, 50, 90, 136]) {
      const [, db] = points.find(([at]) => at >= hz)!;
      const { left } = divided(settings, tone(hz, 144000));
      expect(Math.abs(levelAt(left.subarray(96000), hz / 2) - db), `${hz} Hz`).toBeLessThan(0.3);
    }
  });
});

describe('under a bass note', () => {
  // What the help says. The low cut at 15 Hz that stood here before let 80 Hz wait for 88 ms and 110 Hz for 121 ms.
  test.each([
    [41.2, 55],
    [55, 50],
    [82.4, 75],
    [118, 115],
  ])('of %f Hz that begins at once it is within 3 dB after %d ms', (hz, ms) => {
    const silent = 4800;
    const input = Float64Array.from({ length: 48000 }, (_, n) =>
      n < silent ? 0 : 0.5 * Math.sin((2 * Math.PI * hz * (n - silent)) / 48000),
    );
    const { left } = divided(ALONE, both(input));
    const settled = peakOf(both(left), 38400);
    const first = left.findIndex((x) => Math.abs(x) >= settled * 10 ** (-3 / 20));
    expect((first - silent) / 48).toBeLessThan(ms);
  });

  test.each([
    [30, 0.3, 0.6],
    [41, 0.2, 0.8],
    [60, 0.3, 0.6],
  ])('of %d Hz it follows the fundamental although the next harmonic is louder', (hz, first, second) => {
    const { left } = divided(ALONE, both(note(hz, 4, [first, second, 0.2])));
    const settled = left.subarray(96000);
    const sub = levelAt(settled, hz / 2);
    for (const other of [hz, 1.5 * hz, 2 * hz]) expect(levelAt(settled, other)).toBeLessThan(sub - 10);
    expect(sub).toBeGreaterThan(decibelsOf(first) - 1);
  });

  test('it begins, changes and ends without a click', () => {
    const gap = steady(0, 12000).left;
    const parts = [gap, note(50, 0.5, [0.5, 0.2]), note(75, 0.5, [0.5, 0.2]), gap, note(110, 0.25, [0.5, 0.2]), gap];
    const input = Float64Array.from(parts.flatMap((part) => [...part]));
    const { left } = divided(ALONE, both(input));
    const peak = peakOf(both(left));
    expect(peak).toBeGreaterThan(0.4);
    // A note that starts at once is itself as wide: what the sub has there is a hundredth of it at most.
    expect(loudestBurstDb(left, 500, peak)).toBeLessThan(loudestBurstDb(input, 500, peakOf(both(input))) - 40);
    expect(loudestBurstDb(left, 500, peak)).toBeLessThan(-70);
  });

  test.each<readonly [Settings, Settings]>([
    [{ ...ALONE, amount: 20 }, ALONE],
    [{ ...ALONE, highestFundamental: 60 }, ALONE],
    [
      { ...ALONE, highCut: 30 },
      { ...ALONE, highCut: 200 },
    ],
    [ALONE, { ...ALONE, output: 'input and sub' }],
  ])('settings that jump from %j to %j do not click', (before, after) => {
    const chain = new Chain([stepOf('sub-octave', before)], 48000, 128);
    const half = (): KeySignal => both(note(50, 0.5, [0.5, 0.2]));
    const first = run(chain, half()).left;
    chain.set(0, stepOf('sub-octave', after).values);
    const whole = Float64Array.from([...first, ...run(chain, half()).left]).subarray(6000);
    // Measured as for every processor that plays the sine of the moves suite, which is too high to have a sub.
    expect(loudestBurstDb(whole, 6000, peakOf(both(whole)))).toBeLessThan(-80);
  });

  test('what comes in passes as it is beside it', () => {
    const input = both(note(50, 0.5, [0.5, 0.2, 0.1]));
    const sum = divided({ amount: 100 }, input).left;
    const sub = divided(ALONE, input).left;
    expect(peakOf(both(sum.map((x, n) => x - sub[n]! - input.left[n]!)))).toBeLessThan(1e-15);
  });
});
