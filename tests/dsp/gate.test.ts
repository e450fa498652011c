import { describe, expect, test } from 'vitest';
import { Chain } from '../../src/dsp/core/chain.ts';
import { decibelsOf, gainOf } from '../../src/audio/decibels.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { GateKernel, processor, staticCurveDb } from '../../src/dsp/processors/gate.ts';
import { both, firstDifference, later, noise, peakOf, run, steady, stepOf, through, tone } from '../helpers/chains.ts';

const valuesOf = (settings: Settings) => valuesFrom(processor.parameters, settings);
/** Quick to move, so that the state shows. */
const quick = { threshold: -40, ratio: 100, range: 60, attack: 0.1, release: 5, hold: 0, hysteresis: 6 };

/** Whether it is open at the end of each of the levels (dB), 100 ms each, on a tone of 1 kHz. */
const opened = (settings: Settings, levels: readonly number[]): readonly boolean[] => {
  const { left } = tone(1000, 4800 * levels.length);
  const input = left.map((x, n) => x * gainOf(levels[Math.floor(n / 4800)]!));
  const output = through([stepOf('gate', settings)], both(input)).left;
  return levels.map((_, index) => {
    const at = 4800 * (index + 1) - 12; // a crest
    return Math.abs(output[at]! / input[at]!) > 0.9;
  });
};

describe('gate', () => {
  test('opens at the threshold and closes only below the hysteresis', () => {
    const levels = [-50, -43, -39, -43, -45, -47, -43, -39];
    expect(opened(quick, levels)).toEqual([false, false, true, true, true, false, false, true]);
    expect(opened({ ...quick, hysteresis: 0 }, levels)).toEqual([false, false, true, false, false, false, false, true]);
  });

  test('does not flutter: a level that wavers around the threshold switches it once', () => {
    const { left } = tone(200, 96000);
    const input = both(left.map((x, n) => x * gainOf(-40 + 2.5 * Math.sin((2 * Math.PI * 7 * n) / 48000))));
    const switches = (hysteresis: number): number => {
      const kernel = new GateKernel(valuesOf({ ...quick, hysteresis }), 48000);
      const [l, r] = [input.left.slice(), input.right.slice()];
      let count = 0;
      let open = false;
      for (let from = 0; from < 96000; from += 64) {
        kernel.control();
        kernel.process(l, r, from, from + 64, null);
        if (kernel.reductionDb < 3 !== open) count++;
        open = kernel.reductionDb < 3;
      }
      return count;
    };
    expect(switches(6)).toBe(1);
    expect(switches(0)).toBeGreaterThan(10);
  });

  test('passes what is loud to the last bit', () => {
    const loud = noise(24000, 3);
    const output = through([stepOf('gate', { threshold: -40, ratio: 100 })], loud);
    const end = (signal: typeof loud) => ({ left: signal.left.subarray(2400), right: signal.right.subarray(2400) });
    expect(firstDifference(end(output), end(loud))).toBe(null);
  });

  test('turns down by no more than its range', () => {
    for (const range of [0, 12, 100]) {
      const output = through([stepOf('gate', { ...quick, range })], steady(gainOf(-70), 9600));
      expect(decibelsOf(output.left.at(-1)!)).toBeCloseTo(-70 - range, 5);
    }
  });

  test('as an expander follows its picture', () => {
    const settings = { ...quick, threshold: -30, ratio: 2.5, range: 40 };
    for (const [inDb, outDb] of processor.picture.points(valuesOf(settings), 48000, 17)) {
      const output = through([stepOf('gate', settings)], steady(gainOf(inDb), 4800));
      expect(decibelsOf(output.left.at(-1)!)).toBeCloseTo(outDb, 5);
      expect(staticCurveDb(valuesOf(settings), inDb)).toBe(outDb);
    }
  });

  test('with look-ahead is open when the sound arrives', () => {
    const input = tone(1000, 9600, 0.5);
    for (const side of [input.left, input.right]) side.fill(0, 0, 4800);
    const settings = { ...quick, attack: 1 };
    const late = through([stepOf('gate', settings)], input);
    const early = through([stepOf('gate', { ...settings, lookAhead: 10 })], input);
    // Of the 0.999 to open, e^-10 are left after ten time constants.
    expect(early.left[4812 + 480]! / input.left[4812]!).toBeCloseTo(1, 4);
    expect(late.left[4812]! / input.left[4812]!).toBeLessThan(0.3);
  });
});

describe('side-chain', () => {
  test('the key opens it, its own sound does not', () => {
    const input = noise(9600, 1, 0.5);
    const settings = { ...quick, sideChain: 'external' };
    const open = through([stepOf('gate', settings)], input, 48000, steady(0.5, 9600));
    expect(
      firstDifference(
        { left: open.left.slice(1000), right: open.right.slice(1000) },
        { left: input.left.slice(1000), right: input.right.slice(1000) },
      ),
    ).toBe(null);
    for (const key of [steady(gainOf(-60), 9600), null]) {
      const closed = through([stepOf('gate', settings)], input, 48000, key);
      expect(decibelsOf(peakOf(closed) / peakOf(input))).toBeCloseTo(-60, 4);
    }
  });

  test('the cuts keep what is lower or higher from opening it', () => {
    const opens = (settings: Settings, hz: number): boolean =>
      peakOf(
        through([stepOf('gate', { ...quick, threshold: -20, ...settings })], tone(hz, 24000, gainOf(-10))),
        20000,
      ) > 0.1;
    for (const hz of [60, 1000, 12000]) expect(opens({}, hz)).toBe(true);
    // 12 dB an octave: 60 Hz is 24 dB down under a cut at 240 Hz.
    expect([60, 1000, 12000].map((hz) => opens({ lowCut: 240 }, hz))).toEqual([false, true, true]);
    expect([60, 1000, 12000].map((hz) => opens({ highCut: 3000 }, hz))).toEqual([true, true, false]);
  });

  test('stereo link lets one side open the other, by so much', () => {
    const input = { left: tone(1000, 9600, 0.5).left, right: tone(1000, 9600, gainOf(-50)).left };
    const rightGain = (link: number): number => {
      const { right } = through([stepOf('gate', { ...quick, range: 40, link })], input);
      return right[9588]! / input.right[9588]!;
    };
    expect(rightGain(100)).toBeCloseTo(1, 6);
    expect(rightGain(50)).toBeCloseTo((1 + 0.01) / 2, 6);
    expect(rightGain(0)).toBeCloseTo(0.01, 6);
  });

  test('waits for the sound: a key after a processor with latency is held back with it', () => {
    const input = steady(0.5, 4800);
    const chain = new Chain(
      [stepOf('compressor', { lookAhead: 5 }), stepOf('gate', { ...quick, sideChain: 'external' })],
      48000,
      128,
    );
    const key = steady(0, 4800);
    for (const side of [key.left, key.right]) side.fill(0.5, 1000);
    const output = run(chain, input, [128], key);
    const arrives = later(both(key.left), 240).left.findIndex((x) => x > 0);
    expect(output.left[arrives - 1]).toBeLessThan(0.001);
    expect(output.left[arrives + 40]).toBeGreaterThan(0.49);
  });
});
