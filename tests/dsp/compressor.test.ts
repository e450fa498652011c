import { describe, expect, test } from 'vitest';
import { Chain } from '../../src/dsp/core/chain.ts';
import { decibelsOf, gainOf } from '../../src/audio/decibels.ts';
import { valuesFrom } from '../../src/dsp/core/parameter.ts';
import { CompressorKernel, processor, staticCurveDb } from '../../src/dsp/processors/compressor.ts';
import { firstDifference, noise, run, steady, stepOf, through } from '../helpers/chains.ts';

const valuesOf = (settings = {}) => valuesFrom(processor.parameters, settings);

describe('gain reduction', () => {
  test('is read from the kernel as it falls on the sound', () => {
    const kernel = new CompressorKernel(valuesOf({ threshold: -20, ratio: 4, knee: 0, attack: 1 }), 48000);
    const { left, right } = steady(1, 9600);
    for (let from = 0; from < 9600; from += 64) {
      kernel.control();
      kernel.process(left, right, from, from + 64, null);
      expect(decibelsOf(left[from + 63]!)).toBeCloseTo(-kernel.reductionDb, 9);
    }
    expect(kernel.reductionDb).toBeCloseTo(15, 6);
  });

  test('ends: after a loud passage what is soft passes to the last bit', () => {
    const chain = new Chain([stepOf('compressor', { threshold: -20, ratio: 4, release: 50 })], 48000, 128);
    run(chain, noise(9600, 1));
    const soft = noise(96000, 2, 0.01);
    const output = run(chain, soft);
    expect(output.left[100]).not.toBe(soft.left[100]);
    const end = (signal: typeof soft) => ({ left: signal.left.subarray(80000), right: signal.right.subarray(80000) });
    expect(firstDifference(end(output), end(soft))).toBe(null);
  });

  test('is the same on both sides with full link, so that the picture does not move', () => {
    const input = { left: noise(9600, 3, 1).left, right: noise(9600, 4, 0.1).left };
    const { left, right } = through([stepOf('compressor', { threshold: -30, ratio: 8, attack: 1 })], input);
    input.left.forEach((x, n) => expect(left[n]! / x).toBeCloseTo(right[n]! / input.right[n]!, 12));
  });

  test('of a link that comes back to full becomes one for both sides again', () => {
    const chain = new Chain([stepOf('compressor', { threshold: -30, ratio: 8, link: 0, release: 20 })], 48000, 128);
    const input = { left: steady(1, 48000).left, right: steady(0.1, 48000).left };
    run(chain, input);
    chain.set(0, stepOf('compressor', { threshold: -30, ratio: 8, link: 100, release: 20 }).values);
    const { left, right } = run(chain, input);
    expect(right.at(-1)! / 0.1).toBeCloseTo(left.at(-1)!, 12);
  });
});

describe('settings', () => {
  test('ratio 100 holds the level at the threshold, 99 almost', () => {
    expect(staticCurveDb(valuesOf({ threshold: -40, ratio: 100, knee: 0 }), 0)).toBe(-40);
    expect(staticCurveDb(valuesOf({ threshold: -40, ratio: 99, knee: 0 }), 0)).toBeCloseTo(-40 + 40 / 99, 9);
  });

  test('neither detector nor knee nor range turn anything down at ratio 1', () => {
    const input = noise(4000, 6, 16);
    for (const settings of [{ knee: 36 }, { detector: 'rms' }, { range: 0 }, { lowCut: 200, link: 30, threshold: -60 }])
      expect(firstDifference(through([stepOf('compressor', settings)], input), input)).toBe(null);
  });

  test('the picture is the static curve, make-up included', () => {
    const values = valuesOf({ threshold: -20, ratio: 3, knee: 10, makeUp: 5 });
    const points = processor.picture.points(values, 48000, 61);
    expect(points[0]).toEqual([-60, -55]);
    for (const [inDb, outDb] of points) {
      const { left } = through(
        [stepOf('compressor', { threshold: -20, ratio: 3, knee: 10, makeUp: 5, attack: 1 })],
        steady(gainOf(inDb), 4800),
      );
      expect(decibelsOf(left.at(-1)!)).toBeCloseTo(outDb, 6);
    }
  });
});
