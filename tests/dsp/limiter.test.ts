import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { Chain } from '../../src/dsp/core/chain.ts';
import { decibelsOf, gainOf } from '../../src/audio/decibels.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { CONTROL_FRAMES } from '../../src/dsp/core/processor.ts';
import { LimiterKernel, processor } from '../../src/dsp/processors/limiter.ts';
import { truePeakOf } from '../../src/measure/peaks/true-peak.ts';
import { both, firstDifference, later, noise, peakOf, run, steady, stepOf, through, tone } from '../helpers/chains.ts';
import { seeded } from '../helpers/signals.ts';
import { casesOf } from '../helpers/soak.ts';

const valuesOf = (settings: Settings) => valuesFrom(processor.parameters, settings);
const latencyOf = (settings: Settings): number => processor.latency(valuesOf(settings), 48000);

/** Gain reduction, dB, at the end of every frame. */
const reductionsOf = (settings: Settings, input: Float64Array): Float64Array => {
  const kernel = new LimiterKernel(valuesOf(settings), 48000);
  const [left, right] = [input.slice(), input.slice()];
  return input.map((_, n) => {
    if (n % CONTROL_FRAMES === 0) kernel.control();
    kernel.process(left, right, n, n + 1);
    return kernel.reductionDb;
  });
};

describe('ceiling', () => {
  test('holds for any mixture of steps, clicks, tones and noise at any setting', () => {
    const settings = fc.record({
      ceiling: fc.integer({ min: -24, max: 23 }),
      drive: fc.integer({ min: 0, max: 24 }),
      lookAhead: fc.integer({ min: 1, max: 10 }),
      release: fc.integer({ min: 5, max: 1000 }),
      adapt: fc.integer({ min: 0, max: 100 }),
      link: fc.integer({ min: 0, max: 100 }),
    });
    const event = fc.record({
      kind: fc.constantFrom('step', 'click', 'tone', 'noise'),
      at: fc.integer({ min: 0, max: 3000 }),
      frames: fc.integer({ min: 1, max: 1500 }),
      level: fc.integer({ min: -60, max: 24 }),
      hz: fc.integer({ min: 20, max: 20000 }),
    });
    fc.assert(
      fc.property(settings, fc.array(event, { minLength: 1, maxLength: 6 }), (given, events) => {
        // So long that the end of the last event, late by the latency, rings out within it: cut off there, it would make a peak of its own.
        const input = new Float64Array(6000);
        const random = seeded(7);
        for (const { kind, at, frames, level, hz } of events)
          for (let n = at; n < at + (kind === 'click' ? 1 : frames); n++) {
            const shape = {
              step: 1,
              click: 1,
              noise: 2 * random() - 1,
              tone: Math.sin((2 * Math.PI * hz * n) / 48000),
            };
            input[n]! += gainOf(level) * shape[kind];
          }
        const { left, right } = through([stepOf('limiter', given)], { left: input, right: input.map((x) => 0.3 * x) });
        expect(decibelsOf(peakOf({ left, right }))).toBeLessThan(given.ceiling);
        const peak = truePeakOf([Float32Array.from(left), Float32Array.from(right)]).value;
        expect(decibelsOf(peak) - given.ceiling).toBeLessThan(0.05);
      }),
      { numRuns: casesOf(20, 120) },
    );
  });

  test('leaves what stays half a dB below it as it is, to the last bit, up to the highest frequencies', () => {
    const settings = { ceiling: -1 };
    const { left } = noise(9600, 5, 0.2);
    const input = both(left.map((x, n) => x + 0.3 * Math.sin((2 * Math.PI * 200 * n) / 48000)));
    expect(firstDifference(through([stepOf('limiter', settings)], input), later(input, latencyOf(settings)))).toBe(
      null,
    );
  });

  test('lets go wholly: after a loud passage what is soft passes to the last bit again', () => {
    const settings = { ceiling: -1, release: 20 };
    const chain = new Chain([stepOf('limiter', settings)], 48000, 128);
    run(chain, noise(9600, 1, 8));
    const soft = noise(240000, 2, 0.01);
    const output = run(chain, soft);
    const from = 200000;
    const end = (signal: typeof soft) => ({ left: signal.left.subarray(from), right: signal.right.subarray(from) });
    expect(firstDifference(end(output), end(later(soft, latencyOf(settings))))).toBe(null);
  });

  test('is off at its highest setting, where drive is a plain gain', () => {
    const input = noise(4000, 6, 16);
    const { left } = through([stepOf('limiter', { drive: 24 })], input);
    for (let n = 1000; n < 4000; n++) expect(left[n]! / input.left[n - latencyOf({})]!).toBeCloseTo(gainOf(24), 9);
  });
});

describe('gain', () => {
  /** One burst of a 1 kHz tone, 12 dB above the ceiling, of `frames`, then silence. */
  const burst = (frames: number): Float64Array => {
    const { left } = tone(1000, 96000 + frames, gainOf(12));
    return left.fill(0, frames);
  };

  test('is in place when the peak comes, and moves no faster than its averaging allows', () => {
    const settings = { ceiling: 0, lookAhead: 4, release: 1000 };
    const input = burst(480);
    const reductions = reductionsOf(settings, input);
    const most = Math.max(...reductions);
    // The 12 dB, and the 0.04 dB that the gain aims lower.
    expect(Math.abs(most - 12.04)).toBeLessThan(0.005);
    // Running means of 97 and 96 samples: the steepest step of their triangle is one part in 97.
    let steepest = 0;
    reductions.forEach((x, n) => (steepest = Math.max(steepest, Math.abs(x - (reductions[n - 1] ?? 0)))));
    expect(steepest).toBeLessThan((12.1 / 97) * 1.0001);
    expect(steepest).toBeGreaterThan(12 / 97 / 2);
  });

  /** Frames from where the reduction begins to fall to where 1/e of it is left. */
  const releaseFrames = (settings: Settings, frames: number): number => {
    const reductions = reductionsOf({ ceiling: 0, ...settings }, burst(frames));
    const most = reductions.reduce((greatest, x) => Math.max(greatest, x), 0);
    const from = reductions.findLastIndex((x) => x > 0.999 * most);
    return reductions.findIndex((x, n) => n > from && x < most / Math.E) - from;
  };

  test('comes back from a single peak in the release time', () => {
    // From 0.999 of the way on; the averaging over 4 ms shifts both ends alike, but for what it rounds.
    for (const release of [30, 100]) {
      const seconds = releaseFrames({ release, adapt: 0 }, 24) / 48000;
      expect(Math.abs(seconds / (release / 1000) - 1)).toBeLessThan(0.06);
    }
  });

  test('comes back more slowly, the longer it was held', () => {
    const [peak, second, long] = [24, 24000, 96000].map((frames) => releaseFrames({ release: 30 }, frames));
    expect(peak! / 48000).toBeLessThan(0.036);
    expect(second!).toBeGreaterThan(2 * peak!);
    // In the end the average over ten times the release time leads.
    expect(long! / 48000).toBeGreaterThan(0.28);
    expect(long! / 48000).toBeLessThan(0.34);
  });

  test('is the same on both sides with full link, and only where it is needed with none', () => {
    const input = { left: tone(1000, 9600, 4).left, right: tone(300, 9600, 0.1).left };
    const settings = { ceiling: 0, lookAhead: 2, release: 500 };
    const delay = latencyOf(settings);
    const linked = through([stepOf('limiter', settings)], input);
    const alone = through([stepOf('limiter', { ...settings, link: 0 })], input);
    const shifted = later(input, delay);
    expect(firstDifference({ left: alone.right, right: alone.right }, both(shifted.right))).toBe(null);
    for (let n = 4000; n < 9600; n++)
      if (Math.abs(shifted.left[n]!) > 0.1 && Math.abs(shifted.right[n]!) > 0.01)
        // The highs of the left are filtered at -80 dB ripple, hence 1e-3.
        expect(linked.left[n]! / shifted.left[n]! / (linked.right[n]! / shifted.right[n]!)).toBeCloseTo(1, 3);
  });
});

test('a steady level ends at the ceiling, as the picture shows', () => {
  const settings = { ceiling: -6, drive: 10, release: 5, adapt: 0 };
  const values = valuesOf(settings);
  for (const [inDb, outDb] of processor.picture.points(values, 48000, 10)) {
    const { left } = through([stepOf('limiter', settings)], steady(gainOf(inDb), 9600));
    expect(Math.abs(decibelsOf(left.at(-1)!) - outDb)).toBeLessThan(0.041);
  }
});
