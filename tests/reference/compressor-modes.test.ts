import { describe, expect, test } from 'vitest';
import { Chain } from '../../src/dsp/core/chain.ts';
import { decibelsOf, gainOf } from '../../src/audio/decibels.ts';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { CompressorKernel, staticCurveDb } from '../../src/dsp/processors/compressor.ts';
import { loudnessOf } from '../../src/measure/loudness/loudness.ts';
import { weightedEnergyOf } from '../../src/measure/loudness/weighted-energy.ts';
import { both, firstDifference, noise, peakOf, run, steady, stepOf, through, tone } from '../helpers/chains.ts';
import { compressorValues, reductions } from '../helpers/reductions.ts';

// Closed forms worked out here from the definitions in the source; where a paper stands behind one it is named.

/** Steady full scale for `frames`, then silence. */
const struck = (frames: number, silence: number): Float64Array => new Float64Array(frames + silence).fill(1, 0, frames);

describe('feed-back', () => {
  const back = { topology: 'feed-back', attack: 1, release: 5 };

  // The curve of Giannoulis, Massberg and Reiss 2012, which a loop must settle on from its own output.
  test.each([
    [-20, 4, 6, -21, -21.25],
    [-20, 4, 6, -20, -20.5625],
    [-20, 4, 6, -18, -19.5625],
    [-20, 4, 6, 0, -15],
    [-18, 2, 12, -18, -18.75],
    [-18, 2, 12, 0, -9],
    [-24, 12, 30, -24, -27.4375],
    [-24, 12, 30, 0, -22],
  ])('threshold %d, ratio %d, knee %d: %d dB leaves with %d dB', (threshold, ratio, knee, inDb, outDb) => {
    for (const detector of ['peak', 'rms', 'smooth peak']) {
      const step = stepOf('compressor', { ...back, threshold, ratio, knee, detector, rmsTime: 1 });
      const { left } = through([step], steady(gainOf(inDb), 24000));
      expect(Math.abs(decibelsOf(left.at(-1)!) - outDb)).toBeLessThan(1e-6);
    }
  });

  test('reaches a ratio of 20 and no more', () => {
    const settings = { ...back, threshold: -20, ratio: 100, knee: 0 };
    expect(staticCurveDb(compressorValues(settings), 0)).toBeCloseTo(-19, 9);
    expect(decibelsOf(through([stepOf('compressor', settings)], steady(1, 24000)).left.at(-1)!)).toBeCloseTo(-19, 6);
  });

  test('is quicker by the ratio: of a step it reaches 1 - exp(-R t / tau)', () => {
    // dr/dt = (s' (x - T - r) - r) / tau with s' = R - 1 settles with tau / R.
    const settings = { topology: 'feed-back', threshold: -20, ratio: 4, knee: 0, attack: 40, release: 100 };
    const course = reductions(settings, struck(9600, 0));
    for (const ms of [2, 5, 10, 20, 40])
      expect(Math.abs(course[48 * ms - 1]! - 15 * (1 - Math.exp((-4 * ms) / 40)))).toBeLessThan(0.01);
  });

  test('does not overshoot at the quickest attack and highest ratio', () => {
    const settings = { topology: 'feed-back', threshold: -60, ratio: 20, knee: 0, attack: 0.01, release: 5 };
    const course = reductions(settings, struck(4800, 0));
    course.slice(1).forEach((reduction, n) => expect(reduction).toBeGreaterThanOrEqual(course[n]! - 1e-9));
    expect(course.at(-1)).toBeCloseTo(57, 6);
  });

  test('does not matter to a key', () => {
    const press = { threshold: -30, ratio: 10, sideChain: 'external', attack: 1 };
    const input = noise(4800, 1);
    const key = noise(4800, 2);
    const forward = through([stepOf('compressor', press)], input, 48000, key);
    const fed = through([stepOf('compressor', { ...press, topology: 'feed-back' })], input, 48000, key);
    expect(firstDifference(forward, fed)).toBe(null);
  });
});

describe('smooth peak', () => {
  const held = { threshold: -20, ratio: 100, knee: 0, attack: 0.01, release: 5, detector: 'smooth peak' };

  test('reads a sine near its peak, and more evenly than the peak detector', () => {
    const settled = (settings: Settings) => reductions(settings, tone(1000, 24000, gainOf(-6)).left).subarray(19200);
    const smooth = settled({ ...held, rmsTime: 10 });
    // Between crests, 0.5 ms apart, it falls by exp(-0.05): the mean lies 0.2 dB below the peak.
    expect(Math.max(...smooth)).toBeLessThan(14.01);
    expect(Math.min(...smooth)).toBeGreaterThan(13.6);
    const plain = settled({ ...held, detector: 'peak' });
    const swing = (course: Float64Array): number => Math.max(...course) - Math.min(...course);
    expect(swing(smooth)).toBeLessThan(swing(plain) / 5);
  });
});

describe('hold', () => {
  const settings = { threshold: -20, ratio: 4, knee: 0, attack: 1, release: 50, detector: 'peak' };

  test('keeps the reduction for its time to the sample, then releases as ever', () => {
    const course = reductions({ ...settings, hold: 100 }, struck(4800, 14400));
    for (let n = 4799; n < 4800 + 4800; n++) expect(course[n]).toBe(course[4799]);
    expect(course[9600]).toBeLessThan(course[4799]!);
    // 50 ms into the release: exp(-1).
    expect(course[9600 + 2399]! / 15).toBeCloseTo(Math.exp(-1), 4);
  });

  test('bridges the gaps of a low note: the reduction stands still', () => {
    const course = reductions({ ...settings, release: 5, hold: 20 }, tone(50, 48000, 1).left).subarray(24000);
    expect(Math.max(...course) - Math.min(...course)).toBeLessThan(0.01);
  });
});

describe('auto release', () => {
  const settings = { threshold: -20, ratio: 4, knee: 0, attack: 1, release: 50, detector: 'peak' };
  /** Share of the reduction that is left 100 ms after `seconds` of full scale. */
  const left = (seconds: number, autoRelease: boolean): number => {
    const frames = seconds * 48000;
    const course = reductions({ ...settings, autoRelease }, struck(frames, 9600));
    return course[frames + 4799]! / course[frames - 1]!;
  };

  test('leaves a short peak its own time', () => {
    expect(left(0.01, false)).toBeCloseTo(Math.exp(-2), 3);
    // The average over 500 ms has seen 2 % of it.
    expect(left(0.01, true) - left(0.01, false)).toBeLessThan(0.02);
  });

  test('comes back ten times as slowly after a long passage', () => {
    expect(left(4, false)).toBeCloseTo(Math.exp(-2), 3);
    // r' = (a - r) / 50 ms, a = exp(-t / 500 ms): r = (10 exp(-t / 500) - exp(-t / 50)) / 9 from 1.
    expect(left(4, true)).toBeCloseTo((10 * Math.exp(-0.2) - Math.exp(-2)) / 9, 2);
  });

  test('changes nothing in the settled curve', () => {
    const { left: out } = through([stepOf('compressor', { ...settings, autoRelease: true })], steady(1, 48000));
    expect(decibelsOf(out.at(-1)!)).toBeCloseTo(-15, 6);
  });
});

describe('mid and side', () => {
  const press = { threshold: -20, ratio: 100, knee: 0, attack: 1, release: 5, mode: 'mid/side' };

  test('with no link each follows its own level', () => {
    // Steady: mid 0 dB, side -30 dB, so that only the mid is held at -20 dB.
    const side = gainOf(-30);
    const input = { left: new Float64Array(9600).fill(1 + side), right: new Float64Array(9600).fill(1 - side) };
    const { left, right } = through([stepOf('compressor', { ...press, link: 0 })], input);
    const [l, r] = [left.at(-1)!, right.at(-1)!];
    expect(decibelsOf((l + r) / 2)).toBeCloseTo(-20, 6);
    expect(decibelsOf((l - r) / 2)).toBeCloseTo(-30, 6);
  });

  test('with full link both are turned down alike, by what the louder asks', () => {
    const side = gainOf(-30);
    const input = { left: new Float64Array(9600).fill(1 + side), right: new Float64Array(9600).fill(1 - side) };
    const { left, right } = through([stepOf('compressor', press)], input);
    expect(decibelsOf((left.at(-1)! - right.at(-1)!) / 2)).toBeCloseTo(-50, 6);
  });

  test('fed back settles on the same', () => {
    const side = gainOf(-10);
    const input = { left: new Float64Array(24000).fill(1 + side), right: new Float64Array(24000).fill(1 - side) };
    const step = stepOf('compressor', { ...press, ratio: 4, link: 0, topology: 'feed-back' });
    const { left, right } = through([step], input);
    expect(decibelsOf((left.at(-1)! + right.at(-1)!) / 2)).toBeCloseTo(-15, 6);
    expect(decibelsOf((left.at(-1)! - right.at(-1)!) / 2)).toBeCloseTo(-17.5, 6);
  });
});

describe('side-chain', () => {
  const press = { threshold: -40, ratio: 100, knee: 0, attack: 50, release: 50, detector: 'rms', rmsTime: 100 };
  const reduction = (settings: Settings, hz: number): number => {
    const course = reductions({ ...press, ...settings }, tone(hz, 72000, gainOf(-12)).left);
    return course.subarray(48000).reduce((sum, x) => sum + x, 0) / 24000;
  };

  test('tilt lets highs steer it more and lows less, half the dB each way', () => {
    // First order about 1 kHz, where both gains add at a right angle; at 15 kHz and 40 Hz all but 0.13 dB of the half.
    for (const tilt of [-12, 6]) {
      expect(Math.abs(reduction({ tilt }, 15000) - reduction({}, 15000) - tilt / 2)).toBeLessThan(0.13);
      expect(Math.abs(reduction({ tilt }, 40) - reduction({}, 40) + tilt / 2)).toBeLessThan(0.13);
      const pivot = 10 * Math.log10((gainOf(tilt) + gainOf(-tilt)) / 2);
      expect(Math.abs(reduction({ tilt }, 1000) - reduction({}, 1000) - pivot)).toBeLessThan(0.02);
    }
  });

  test('band hears its frequency whole and an octave away 10.0 dB less', () => {
    // Analogue band-pass, |H|^2 = 1 / (1 + Q^2 (f / f0 - f0 / f)^2), Q 2: an octave away 10.000 dB on both sides.
    const band = { band: true, bandFrequency: 1000, bandQ: 2 };
    expect(reduction(band, 1000) - reduction({}, 1000)).toBeCloseTo(0, 2);
    expect(reduction({}, 500) - reduction(band, 500)).toBeCloseTo(10, 1);
    expect(reduction({}, 2000) - reduction(band, 2000)).toBeCloseTo(10, 1);
    // 10 kHz, Q 1, 16 kHz: 2.902 dB; a bilinear design hears it some 6 dB down at 48 kHz.
    const high = { band: true, bandFrequency: 10000, bandQ: 1 };
    expect(reduction({}, 16000) - reduction(high, 16000)).toBeCloseTo(2.902, 1);
  });
});

describe('auto make-up', () => {
  const press = { threshold: -40, ratio: 8, knee: 6, attack: 1, release: 100 };
  const loudness = ({ left, right }: ReturnType<typeof noise>, from: number): number => {
    const channels = [left, right].map((side) => Float32Array.from(side.subarray(from)));
    return loudnessOf(weightedEnergyOf({ sampleRate: 48000, channels })).integrated!;
  };

  /** How much louder the last loud second is than the soft one after it, dB. */
  const contrastOf = ({ left }: ReturnType<typeof noise>): number => {
    const power = (from: number): number =>
      left.subarray(from + 24000, from + 43200).reduce((sum, x) => sum + x * x, 0);
    return 10 * Math.log10(power(864000) / power(912000));
  };

  test('leaves a steady sound as loud as it came in, by the meter of BS.1770', () => {
    const input = noise(480000, 5, 0.2);
    const output = through([stepOf('compressor', { ...press, autoMakeUp: true })], input);
    expect(Math.abs(loudness(output, 48000) - loudness(input, 48000))).toBeLessThan(0.1);
    expect(loudness(input, 48000) - loudness(through([stepOf('compressor', press)], input), 48000)).toBeGreaterThan(8);
  });

  test('makes up for the whole of a passage that changes, not for each moment of it', () => {
    // A second loud, a second 8 dB softer, by turns: near enough that the relative gate of BS.1770 takes in both.
    const input = noise(960000, 6, 0.5);
    for (const side of [input.left, input.right])
      side.forEach((x, n) => (side[n] = Math.floor(n / 48000) % 2 ? x * gainOf(-8) : x));
    const output = through([stepOf('compressor', { ...press, threshold: -30, autoMakeUp: true })], input);
    expect(Math.abs(loudness(output, 0) - loudness(input, 0))).toBeLessThan(0.5);
    expect(contrastOf(input)).toBeCloseTo(8, 0);
    expect(contrastOf(output)).toBeLessThan(1.5);
  });

  test('the make-up that is set comes on top', () => {
    const input = noise(240000, 7, 0.2);
    const played = (makeUp: number) =>
      through([stepOf('compressor', { ...press, autoMakeUp: true, makeUp })], input).left.at(-1)!;
    expect(decibelsOf(played(6) / played(0))).toBeCloseTo(6, 9);
  });

  test('is a wire where nothing is turned down', () => {
    const input = noise(24000, 8, 0.5);
    expect(firstDifference(through([stepOf('compressor', { autoMakeUp: true })], input), input)).toBe(null);
  });
});

describe('history', () => {
  test('shows how far it turned down, a point for every 512 frames, whatever the blocks', () => {
    const settings = { threshold: -20, ratio: 4, knee: 0, attack: 1, release: 50, detector: 'peak' };
    const played = (blocks: readonly number[]): Float32Array => {
      const kernel = new CompressorKernel(compressorValues(settings), 48000);
      const { left, right } = both(struck(9600, 14400));
      let turn = 0;
      for (let from = 0; from < 24000;) {
        const phase = from % 64;
        if (phase === 0) kernel.control();
        const to = Math.min(24000, from + Math.min(blocks[turn++ % blocks.length]!, 64 - phase));
        kernel.process(left, right, from, to, null);
        from = to;
      }
      const points = new Float32Array(2000);
      return points.slice(0, kernel.history.read(points));
    };
    const points = played([64]);
    expect(points.length).toBe(46);
    expect(points[10]).toBeCloseTo(15, 3);
    // 46 points are 23552 frames: 13952 into the release of 50 ms.
    expect(points.at(-1)! / 15).toBeCloseTo(Math.exp(-13952 / 2400), 2);
    expect(played([7, 13])).toEqual(points);
    const few = new Float32Array(5);
    const kernel = new CompressorKernel(compressorValues(settings), 48000);
    expect(kernel.history.read(few)).toBe(0);
  });

  test('keeps the newest eleven seconds', () => {
    const kernel = new CompressorKernel(compressorValues({ threshold: -20, ratio: 4, knee: 0, attack: 1 }), 48000);
    const { left, right } = steady(1, 64);
    for (let n = 0; n < 8 * 1100; n++) {
      kernel.control();
      left.fill(n < 8 * 1000 ? 0 : 1);
      right.set(left);
      kernel.process(left, right, 0, 64, null);
    }
    const points = new Float32Array(4096);
    expect(kernel.history.read(points)).toBe(1024);
    expect(points[1023]).toBeCloseTo(15, 3);
    expect(points[0]).toBe(0);
    expect(points.subarray(0, 1024).findIndex((x) => x > 0)).toBe(1024 - 100);
  });
});

test('a topology that changes on the way lands where a new one stands', () => {
  const settings = { threshold: -30, ratio: 4, attack: 5, release: 50 };
  for (const [from, to] of [
    ['feed-forward', 'feed-back'],
    ['feed-back', 'feed-forward'],
  ]) {
    const chain = new Chain([stepOf('compressor', { ...settings, topology: from! })], 48000, 128);
    const input = tone(300, 48000, 0.5);
    run(chain, input);
    chain.set(0, stepOf('compressor', { ...settings, topology: to! }).values);
    run(chain, input);
    const output = run(chain, input);
    const fresh = through([stepOf('compressor', { ...settings, topology: to! })], input);
    const apart = output.left.subarray(40000).map((x, n) => x - fresh.left[40000 + n]!);
    expect(peakOf({ left: apart, right: apart })).toBeLessThan(1e-4);
  }
});
