import { describe, expect, test } from 'vitest';
import { Chain } from '../../src/dsp/core/chain.ts';
import { decibelsOf, gainOf } from '../../src/audio/decibels.ts';
import { smoothingFactor } from '../../src/dsp/dynamics/gain-computer.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { CompressorKernel, processor, staticCurveDb } from '../../src/dsp/processors/compressor.ts';
import { firstDifference, later, noise, peakOf, run, steady, stepOf, through, tone } from '../helpers/chains.ts';

// Static curve of D. Giannoulis, M. Massberg, J. Reiss, "Digital dynamic range compressor design", JAES 60(6), 2012
// (knee formula read in a secondary source), evaluated independently in numpy.

interface Curve {
  readonly threshold: number;
  readonly ratio: number;
  readonly knee: number;
  readonly points: readonly (readonly [inDb: number, outDb: number])[];
}

const CURVES: readonly Curve[] = [
  {
    threshold: -20,
    ratio: 4,
    knee: 6,
    points: [
      [-40, -40],
      [-23, -23],
      [-22, -22.0625],
      [-21, -21.25],
      [-20, -20.5625],
      [-19, -20],
      [-18, -19.5625],
      [-17, -19.25],
      [-10, -17.5],
      [-6, -16.5],
      [0, -15],
    ],
  },
  {
    threshold: -18,
    ratio: 2,
    knee: 12,
    points: [
      [-24, -24],
      [-21, -21.1875],
      [-18, -18.75],
      [-15, -16.6875],
      [-12, -15],
      [0, -9],
    ],
  },
  {
    threshold: -10,
    ratio: 100,
    knee: 0,
    points: [
      [-20, -20],
      [-10, -10],
      [-5, -10],
      [0, -10],
    ],
  },
  {
    threshold: -24,
    ratio: 12,
    knee: 30,
    points: [
      [-30, -31.2375],
      [-24, -27.4375],
      [-9, -22.75],
      [0, -22],
    ],
  },
];

const fast: Settings = { attack: 1, release: 5 };
const valuesOf = (settings: Settings) => valuesFrom(processor.parameters, settings);

describe.each(CURVES)('threshold $threshold dB, ratio $ratio, knee $knee dB', ({ points, ...settings }) => {
  test('follows the static curve in closed form', () => {
    // -31.2375 and the like are printed in full: exact but for double precision.
    for (const [inDb, outDb] of points) expect(staticCurveDb(valuesOf(settings), inDb)).toBeCloseTo(outDb, 9);
  });

  test.each(['peak', 'rms'])('follows it on steady levels when settled, %s detector', (detector) => {
    for (const [inDb, outDb] of points) {
      const step = stepOf('compressor', { ...settings, ...fast, detector, rmsTime: 1 });
      const { left, right } = through([step], steady(gainOf(inDb), 9600));
      expect(Math.abs(decibelsOf(left.at(-1)!) - outDb)).toBeLessThan(1e-6);
      expect(right.at(-1)).toBe(left.at(-1));
    }
  });

  test('is continuous in value and slope at both ends of the knee', () => {
    const values = valuesOf(settings);
    const slope = (inDb: number): number =>
      (staticCurveDb(values, inDb + 1e-6) - staticCurveDb(values, inDb - 1e-6)) / 2e-6;
    for (const end of [settings.threshold - settings.knee / 2, settings.threshold + settings.knee / 2]) {
      expect(staticCurveDb(values, end + 1e-9)).toBeCloseTo(staticCurveDb(values, end - 1e-9), 8);
      if (settings.knee > 0) expect(slope(end + 1e-4)).toBeCloseTo(slope(end - 1e-4), 4);
    }
  });
});

test('at the threshold inside a knee the reduction is W/8 (1 - 1/R)', () => {
  expect(staticCurveDb(valuesOf({ threshold: -20, ratio: 4, knee: 6 }), -20)).toBeCloseTo(-20.5625, 12);
});

describe('time constants', () => {
  // y[n] = a y[n-1] + (1 - a) x[n], a = exp(-1 / (tau fs)): 63.212 % after tau. Values by numpy.
  test.each([
    [0.001, 48000, 0.979382181331],
    [0.01, 48000, 0.997918835299],
    [0.1, 48000, 0.999791688367],
    [0.05, 44100, 0.999546588083],
  ])('%d s at %d Hz', (seconds, rate, factor) => expect(1 - smoothingFactor(seconds, rate)).toBeCloseTo(factor, 11));

  // A step that asks for 12 dB: -24 dB threshold, infinite ratio, no knee, level from silence to -12 dB and back after
  // 200 ms. Smoothing in dB after the gain computer, "branching" smoother; equations from memory of Giannoulis et al.
  // 2012, numbers by numpy. (The decoupled smoother would give 11.573247 and 4.904488 in the release.)
  const played = (() => {
    const frames = 9600;
    const kernel = new CompressorKernel(
      valuesOf({ threshold: -24, ratio: 100, knee: 0, attack: 10, release: 100, detector: 'peak' }),
      48000,
    );
    const left = new Float64Array(2 * frames).fill(gainOf(-12), 0, frames);
    const right = left.slice();
    return Float64Array.from(left, (_, n) => {
      if (n % 64 === 0) kernel.control();
      kernel.process(left, right, n, n + 1, null);
      return kernel.reductionDb;
    });
  })();

  test.each([
    ['after 1 sample', 0, 0.024974],
    ['at 10 ms', 479, 7.585447],
    ['at 20 ms', 959, 10.375977],
    ['at 50 ms', 2399, 11.919145],
    ['10 ms into the release', 9600 + 479, 10.858049],
    ['100 ms into the release', 9600 + 4799, 4.414553],
  ])('reduction %s', (_, frame, expected) => expect(Math.abs(played[frame]! - expected)).toBeLessThan(1e-5));
});

describe('beside its own input', () => {
  // Dry + compressed, aligned, steady level; threshold -30, ratio 4, no knee. Rises over the dry signal, by numpy.
  test.each([
    [0, [6.0206, 6.0206, 3.0561, 1.4216, 0.6281]],
    [-6.0206, [3.5218, 3.5218, 1.6618, 0.7399, 0.3197]],
  ] as const)('at %d dB it lifts what is soft', (busDb, rises) => {
    const step = stepOf('compressor', { threshold: -30, ratio: 4, knee: 0, ...fast, lookAhead: 3 });
    [-60, -30, -20, -10, 0].forEach((inDb, index) => {
      const level = gainOf(inDb);
      const { left } = through([step], steady(level, 9600));
      const rise = decibelsOf((level + gainOf(busDb) * left.at(-1)!) / level);
      expect(Math.abs(rise - rises[index]!)).toBeLessThan(1e-4);
    });
  });
});

describe('detector', () => {
  const held = { threshold: -20, ratio: 100, knee: 0, attack: 0.01, release: 3000 };

  test('rms reads a sine 3.0103 dB below its peak', () => {
    const step = stepOf('compressor', { ...held, detector: 'rms', rmsTime: 300, attack: 100, release: 100 });
    const output = through([step], tone(1000, 240000, gainOf(-6)));
    // -6 - 3.0103 dB in, held at -20 dB rms: 20 - 6 - 3.0103 dB less. What ripple is left is below 0.01 dB.
    expect(decibelsOf(peakOf(output, 230000))).toBeCloseTo(-6 - (20 - 6 - 3.0103), 2);
  });

  test('peak turns a sine down by what its crests exceed, when the release is long', () => {
    const output = through([stepOf('compressor', held)], tone(1000, 96000, gainOf(-6)));
    // Between two crests the release gives back 14 dB * (1 - exp(-0.5 ms / 3 s)) = 0.0023 dB.
    expect(Math.abs(decibelsOf(peakOf(output, 90000)) + 20)).toBeLessThan(0.005);
  });

  test('low cut keeps a low note from turning the sound down, 12 dB an octave', () => {
    const reduction = (lowCut: number): number => {
      const step = stepOf('compressor', { ...held, detector: 'rms', rmsTime: 300, attack: 100, release: 100, lowCut });
      return -6 - decibelsOf(peakOf(through([step], tone(50, 480000, gainOf(-6))), 470000));
    };
    // Butterworth of order 2 at 100 Hz, one octave down: -12.3045 dB, warping below 0.001 dB.
    expect(reduction(20)).toBeCloseTo(10.99, 1);
    expect(reduction(20) - reduction(100)).toBeCloseTo(10.99, 1);
    expect(reduction(60)).toBeGreaterThan(reduction(100) + 3);
  });
});

describe('routing', () => {
  const press = { threshold: -30, ratio: 10, knee: 0, ...fast, oversampling: 'off' };

  test('the key steers it and its own level does not', () => {
    const step = stepOf('compressor', { ...press, sideChain: 'external' });
    const input = steady(0.5, 4800);
    const loud = through([step], input, 48000, steady(1, 4800));
    const soft = through([step], input, 48000, steady(0.001, 4800));
    expect(decibelsOf(loud.left.at(-1)! / 0.5)).toBeCloseTo(-27, 6);
    expect(firstDifference(soft, input)).toBe(null);
    expect(firstDifference(through([step], input), input)).toBe(null);
  });

  test('the look-ahead turns down before the sound arrives', () => {
    const burst = steady(0.5, 4800);
    burst.left.fill(0, 0, 1000);
    burst.right.fill(0, 0, 1000);
    const settings = { ...press, attack: 0.5 };
    const late = through([stepOf('compressor', settings)], burst);
    const early = through([stepOf('compressor', { ...settings, lookAhead: 5 })], burst);
    // Of 0.9 * 23.98 dB the attack has reached 1 - exp(-1 / 24) at its first sample, all but 0.001 dB after 241.
    const full = 0.9 * (30 - 6.0206);
    expect(decibelsOf(late.left[1000]! / 0.5)).toBeCloseTo(-full * (1 - Math.exp(-1 / 24)), 4);
    expect(early.left.slice(0, 1240)).toEqual(new Float64Array(1240));
    expect(decibelsOf(early.left[1240]! / 0.5)).toBeCloseTo(-full, 2);
  });

  test.each([44100, 48000, 96000, 192000])('a wire with look-ahead is late by whole samples at %d Hz', (rate) => {
    for (const lookAhead of [0.01, 1, 3.3, 20]) {
      const chain = new Chain([stepOf('compressor', { lookAhead })], rate, 128);
      expect(chain.latency).toBe(Math.round((lookAhead * rate) / 1000));
      const input = noise(6000, 9);
      expect(firstDifference(run(chain, input), later(input, chain.latency))).toBe(null);
    }
  });

  test('stereo link moves each channel towards the one that is turned down more', () => {
    const reductions = (link: number): readonly number[] => {
      const input = { left: new Float64Array(9600).fill(1), right: new Float64Array(9600).fill(gainOf(-20)) };
      const { left, right } = through([stepOf('compressor', { ...press, link })], input);
      return [-decibelsOf(left.at(-1)!), -20 - decibelsOf(right.at(-1)!)];
    };
    // Alone: 30 dB over and 10 dB over, times 0.9.
    for (const [link, right] of [
      [0, 9],
      [50, 18],
      [100, 27],
    ] as const) {
      const reduced = reductions(link);
      expect(reduced[0]).toBeCloseTo(27, 6);
      expect(reduced[1]).toBeCloseTo(right, 6);
    }
  });

  test('range bounds the reduction and make-up comes after it', () => {
    const step = stepOf('compressor', { ...press, range: 6, makeUp: 4 });
    expect(decibelsOf(through([step], steady(1, 9600)).left.at(-1)!)).toBeCloseTo(-2, 6);
  });
});
