import { describe, expect, test } from 'vitest';
import { cascadeDb, designBand, type Shape, SHAPES } from '../../src/dsp/filters/band-design.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { processor, responseDb } from '../../src/dsp/processors/eq.ts';
import { both, impulse, noise, stepOf, through } from '../helpers/chains.ts';

// Coefficients and magnitudes of the cookbook designs (R. Bristow-Johnson, Audio EQ Cookbook, W3C Group Note, 8 June
// 2021). Each row was computed from the cookbook and, independently, from the analogue prototype by pre-warping and the
// bilinear transform in scipy 1.17; the two agreed to 5e-16. Shelves "of slope 1" are shelves of Q 1/sqrt(2).

interface Row {
  readonly shape: Shape;
  readonly hz: number;
  readonly gainDb?: number;
  readonly q?: number;
  readonly rate?: number;
  readonly b: readonly [number, number, number];
  readonly a: readonly [number, number];
  readonly magnitudes: readonly (readonly [hz: number, db: number])[];
}

const ROWS: readonly Row[] = [
  {
    shape: 'bell',
    hz: 1000,
    gainDb: 6,
    q: 1,
    b: [1.04395308699, -1.895320723937, 0.86772228476],
    a: [-1.895320723937, 0.91167537175],
    magnitudes: [
      [500, 1.8794],
      [1000, 6],
      [2000, 1.866],
    ],
  },
  {
    shape: 'bell',
    hz: 1000,
    gainDb: -6,
    q: 1,
    b: [0.95789745005, -1.815522888486, 0.873291513873],
    a: [-1.815522888486, 0.831188963923],
    magnitudes: [
      [500, -1.8794],
      [1000, -6],
      [2000, -1.866],
    ],
  },
  {
    shape: 'bell',
    hz: 10000,
    gainDb: 3,
    q: 2,
    rate: 44100,
    b: [1.071063967769, -0.240903973733, 0.584414818612],
    a: [-0.240903973733, 0.65547878638],
    magnitudes: [
      [8000, 1.2184],
      [10000, 3],
      [12500, 0.9591],
    ],
  },
  {
    shape: 'low shelf',
    hz: 100,
    gainDb: 6,
    b: [1.003217895737, -1.984364430777, 0.981386698749],
    a: [-1.984424329139, 0.984544696124],
    magnitudes: [
      [20, 5.9896],
      [100, 3],
      [1000, 0.0006],
    ],
  },
  {
    shape: 'low shelf',
    hz: 200,
    gainDb: -4,
    b: [0.995737625951, -1.958620726704, 0.96341639431],
    a: [-1.958464766819, 0.959309980146],
    magnitudes: [
      [50, -3.9839],
      [200, -2],
      [1000, -0.0066],
    ],
  },
  {
    shape: 'high shelf',
    hz: 8000,
    gainDb: 6,
    b: [1.571670188571, -1.248879926747, 0.448691733076],
    a: [-0.433510141577, 0.204992136478],
    magnitudes: [
      [1000, 0.0011],
      [8000, 3],
      [16000, 5.9211],
    ],
  },
  {
    shape: 'high cut',
    hz: 1000,
    b: [0.003916126661, 0.007832253321, 0.003916126661],
    a: [-1.815341082705, 0.831005589347],
    magnitudes: [
      [500, -0.2622],
      [1000, -3.0103],
      [4000, -24.4764],
    ],
  },
  {
    shape: 'band-pass',
    hz: 1000,
    q: 2,
    b: [0.031600378776, 0, -0.031600378776],
    a: [-1.920229656437, 0.936799242447],
    magnitudes: [
      [500, -10.014],
      [1000, 0],
      [2000, -10.056],
    ],
  },
  {
    shape: 'notch',
    hz: 50,
    q: 10,
    b: [0.999672860157, -1.999302897656, 0.999672860157],
    a: [-1.999302897656, 0.999345720314],
    magnitudes: [
      [45, -0.8791],
      [100, -0.0193],
    ],
  },
  {
    shape: 'low cut',
    hz: 80,
    b: [0.992622542756, -1.985245085512, 0.992622542756],
    a: [-1.985190657896, 0.985299513128],
    magnitudes: [
      [40, -12.3046],
      [80, -3.0103],
      [1000, -0.0002],
    ],
  },
  {
    shape: 'low cut',
    hz: 1000,
    rate: 44100,
    b: [0.904152203217, -1.808304406435, 0.904152203217],
    a: [-1.799096409485, 0.817512403385],
    magnitudes: [
      [500, -12.3253],
      [1000, -3.0103],
      [4000, -0.0153],
    ],
  },
];

/** Shapes that have a gain. */
const GAINED = ['bell', 'low shelf', 'high shelf', 'tilt'] as const;

/** The tables are of cookbook filters; the EQ takes matched ones unless told otherwise. */
const settingsOf = ({ shape, hz, gainDb = 0, q = Math.SQRT1_2 }: Row): Settings => ({
  design: 'cookbook',
  'band1.on': true,
  'band1.shape': shape,
  'band1.frequency': hz,
  'band1.gain': gainDb,
  'band1.q': q,
});

/** Gain of an impulse response at a frequency, dB, by its Fourier sum. */
const gainDb = (response: Float64Array, hz: number, rate: number): number => {
  let re = 0;
  let im = 0;
  response.forEach((x, n) => {
    re += x * Math.cos((2 * Math.PI * hz * n) / rate);
    im -= x * Math.sin((2 * Math.PI * hz * n) / rate);
  });
  return 20 * Math.log10(Math.hypot(re, im));
};

describe.each(ROWS.map((row) => [`${row.shape} ${row.gainDb ?? ''} ${row.hz} Hz`, row] as const))('%s', (_, row) => {
  const { shape, hz, gainDb: db = 0, q = Math.SQRT1_2, rate = 48000, b, a, magnitudes } = row;

  test('has the tabulated coefficients', () => {
    const [section, ...others] = designBand({ shape, hz, gainDb: db, q, order: 2 }, rate);
    expect(others).toEqual([]);
    [...b, ...a].forEach((expected, index) => expect(Math.abs(section![index]! - expected)).toBeLessThan(1e-11));
  });

  test('obeys the tabulated difference equation while it runs', () => {
    const { left: x } = noise(2000, 4);
    const { left: y } = through([stepOf('eq', settingsOf(row))], both(x), rate);
    for (let n = 2; n < x.length; n++) {
      const right = b[0] * x[n]! + b[1] * x[n - 1]! + b[2] * x[n - 2]!;
      // Five coefficients within 1e-11 each, on samples of at most about 2.
      expect(Math.abs(y[n]! + a[0] * y[n - 1]! + a[1] * y[n - 2]! - right)).toBeLessThan(1e-10);
    }
  });

  test('has the tabulated magnitudes, running and in its picture', () => {
    // The notch rings for a second.
    const response = through([stepOf('eq', settingsOf(row))], impulse(65536), rate).left;
    const values = valuesFrom(processor.parameters, settingsOf(row));
    for (const [at, expected] of magnitudes) {
      expect(Math.abs(gainDb(response, at, rate) - expected)).toBeLessThan(1e-4);
      expect(Math.abs(responseDb(values, at, rate, 'mid') - expected)).toBeLessThan(1e-4);
      expect(Math.abs(responseDb(values, at, rate, 'side') - expected)).toBeLessThan(1e-4);
    }
  });
});

describe('cuts', () => {
  // |H|^2 = 1 / (1 + (tan / tan0)^(+-2n)), a Butterworth filter through the bilinear transform (S. Butterworth 1930).
  const butterworthDb = (order: number, hz: number, at: number, low: boolean): number => {
    const ratio = Math.tan((Math.PI * at) / 48000) / Math.tan((Math.PI * hz) / 48000);
    return -10 * Math.log10(1 + ratio ** (low ? -2 * order : 2 * order));
  };

  test.each([6, 12, 18, 24, 30, 36, 42, 48])('fall by %d dB/oct as Butterworth filters do', (slope) => {
    for (const shape of ['low cut', 'high cut'] as const)
      for (const hz of [80, 1000, 12000]) {
        const settings = {
          design: 'cookbook',
          'band1.on': true,
          'band1.shape': shape,
          'band1.slope': `${slope} dB/oct`,
          'band1.frequency': hz,
        };
        const response = through([stepOf('eq', settings)], impulse(65536)).left;
        for (const at of [hz / 2, hz, hz * 1.7]) {
          const expected = butterworthDb(slope / 6, hz, at, shape === 'low cut');
          // What lies deeper drowns in the rounding of a Fourier sum over all that passes.
          if (expected < -120) continue;
          expect(Math.abs(gainDb(response, at, 48000) - expected)).toBeLessThan(1e-4);
        }
      }
  });

  test('lie 3.0103 dB down at their frequency, whatever the slope', () => {
    for (const slope of [6, 12, 18, 24, 30, 36, 42, 48]) {
      const settings = {
        'band1.on': true,
        'band1.shape': 'low cut',
        'band1.slope': `${slope} dB/oct`,
        'band1.frequency': 500,
      };
      const values = valuesFrom(processor.parameters, settings);
      expect(responseDb(values, 500, 48000, 'mid')).toBeCloseTo(-10 * Math.log10(2), 9);
    }
  });
});

describe('identities of the cookbook', () => {
  test('a boost and the same cut are a wire', () => {
    for (const [shape, design] of GAINED.flatMap((name) => [[name, 'cookbook'] as const, [name, 'matched'] as const])) {
      const settings = {
        design,
        'band1.on': true,
        'band1.shape': shape,
        'band1.frequency': 700,
        'band1.gain': 9,
        'band1.q': 1.3,
        'band2.on': true,
        'band2.shape': shape,
        'band2.frequency': 700,
        'band2.gain': -9,
        'band2.q': 1.3,
      };
      const input = noise(4000, 6);
      const output = through([stepOf('eq', settings)], input);
      input.left.forEach((x, n) => expect(Math.abs(output.left[n]! - x)).toBeLessThan(1e-12));
    }
  });

  test('a shelf has half its dB at its frequency, at any q', () => {
    for (const shape of ['low shelf', 'high shelf'])
      for (const q of [0.1, 0.5, 1, 5]) {
        const settings = {
          'band1.on': true,
          'band1.shape': shape,
          'band1.frequency': 1500,
          'band1.gain': 8,
          'band1.q': q,
        };
        expect(responseDb(valuesFrom(processor.parameters, settings), 1500, 48000, 'mid')).toBeCloseTo(4, 9);
      }
  });

  test('poles stay inside the unit circle over all of frequency, gain and q', () => {
    for (const shape of SHAPES)
      for (const hz of [10, 1000, 22000])
        for (const db of [-24, 24])
          for (const q of [0.1, 20])
            for (const [order, matched] of [1, 2, 3, 8, 16].flatMap((n) => [[n, false] as const, [n, true] as const]))
              for (const [, , , a1, a2] of designBand({ shape, hz, gainDb: db, q, order, matched }, 44100)) {
                expect(Math.abs(a2!)).toBeLessThan(1);
                expect(Math.abs(a1!)).toBeLessThan(1 + a2!);
              }
  });
});

describe('matched design', () => {
  // Analogue prototypes of the cookbook (W3C Group Note 2021, section 2), y = (f / f0)^2, and Butterworth 1930 for cuts.
  // The bound is the project's own: 0.25 dB up to 18 kHz at 44.1 kHz, centres up to 16 kHz (aim of Vicanek 2016).
  const square = (y: number, ratio: number, q: number): number => (ratio - y) ** 2 + (ratio * y) / q ** 2;
  const prototypeDb = (shape: Shape, y: number, db: number, q: number, order: number): number => {
    const a = 10 ** (db / 40);
    const power: Readonly<Record<Shape, () => number>> = {
      bell: () => square(y, 1, q / a) / square(y, 1, q * a),
      'low shelf': () => square(y, a, q) / square(y, 1 / a, q),
      'high shelf': () => (a ** 4 * square(y, 1 / a, q)) / square(y, a, q),
      tilt: () => (a ** 2 * square(y, 1 / a, q)) / square(y, a, q),
      'low cut': () => 1 / (1 + y ** -order),
      'high cut': () => 1 / (1 + y ** order),
      'band-pass': () => y / q ** 2 / square(y, 1, q),
      notch: () => (1 - y) ** 2 / square(y, 1, q),
    };
    return 10 * Math.log10(power[shape]());
  };
  const centres = Array.from({ length: 14 }, (_, n) => 20 * 800 ** (n / 13));
  const frequencies = (hz: number): readonly number[] => [
    ...Array.from({ length: 60 }, (_, n) => 20 * 900 ** (n / 59)),
    ...Array.from({ length: 61 }, (_, n) => hz * (0.7 + 0.01 * n)).filter((at) => at <= 18000),
  ];
  const furthest = (band: Parameters<typeof designBand>[0], matched = true): number => {
    const sections = designBand({ ...band, matched }, 44100);
    const apart = frequencies(band.hz).map((at) => {
      const expected = prototypeDb(band.shape, (at / band.hz) ** 2, band.gainDb, band.q, band.order);
      return expected > -80 ? Math.abs(cascadeDb(sections, at, 44100) - expected) : 0;
    });
    return Math.max(...apart);
  };

  test.each(['bell', 'low shelf', 'high shelf', 'tilt', 'band-pass', 'notch'] as const)(
    'of a %s keeps within 0.25 dB of the analogue one up to 18 kHz, over all gains and q',
    (shape) => {
      for (const hz of centres)
        for (const gainDb of [-24, -9, 3, 12, 24])
          for (const q of [0.1, 0.5, Math.SQRT1_2, 2, 6, 20])
            expect(furthest({ shape, hz, gainDb, q, order: 2 }), `${hz} ${gainDb} ${q}`).toBeLessThan(0.25);
    },
  );

  test.each([1, 2, 3, 4, 8, 16])('of cuts of order %d too', (order) => {
    for (const shape of ['low cut', 'high cut'] as const)
      for (const hz of centres) expect(furthest({ shape, hz, gainDb: 0, q: 1, order }), `${hz}`).toBeLessThan(0.25);
  });

  test('is needed: the cookbook is dBs away at the top', () => {
    expect(furthest({ shape: 'bell', hz: 16000, gainDb: 12, q: 1, order: 2 }, false)).toBeGreaterThan(2);
    expect(furthest({ shape: 'high shelf', hz: 12000, gainDb: 12, q: 0.5, order: 2 }, false)).toBeGreaterThan(1);
  });

  test('is what the kernel runs and what the picture shows', () => {
    const settings = { 'band1.on': true, 'band1.frequency': 12000, 'band1.gain': 9, 'band1.q': 2 };
    const response = through([stepOf('eq', settings)], impulse(32768), 44100).left;
    const values = valuesFrom(processor.parameters, settings);
    for (const at of [100, 6000, 12000, 15000, 18000]) {
      const expected = prototypeDb('bell', (at / 12000) ** 2, 9, 2, 2);
      expect(Math.abs(gainDb(response, at, 44100) - expected)).toBeLessThan(0.05);
      expect(Math.abs(gainDb(response, at, 44100) - responseDb(values, at, 44100, 'left'))).toBeLessThan(1e-4);
    }
  });

  test('is exact at the centre: gain of a bell, half of a shelf, the pivot of a tilt, nothing of a notch', () => {
    const at = (shape: Shape, gainDb: number) =>
      cascadeDb(designBand({ shape, hz: 9000, gainDb, q: 1, order: 2, matched: true }, 44100), 9000, 44100);
    expect(at('bell', 8)).toBeCloseTo(8, 9);
    expect(at('low shelf', 8)).toBeCloseTo(4, 9);
    expect(at('high shelf', 8)).toBeCloseTo(4, 9);
    expect(at('tilt', 8)).toBeCloseTo(0, 9);
    expect(at('band-pass', 0)).toBeCloseTo(0, 9);
    expect(at('notch', 0)).toBeLessThan(-200);
  });
});

describe('left and right', () => {
  test.each(['left', 'right'] as const)('a band on the %s leaves the other alone', (mode) => {
    const settings = { 'band1.on': true, 'band1.frequency': 1000, 'band1.gain': 6, 'band1.q': 1, 'band1.mode': mode };
    const pulse = impulse(32768);
    const output = through([stepOf('eq', settings)], pulse);
    const other = mode === 'left' ? 'right' : 'left';
    expect(Math.abs(gainDb(output[mode], 1000, 48000) - 6)).toBeLessThan(1e-4);
    expect(output[other]).toEqual(pulse[other]);
    expect(responseDb(valuesFrom(processor.parameters, settings), 1000, 48000, mode)).toBeCloseTo(6, 9);
    expect(responseDb(valuesFrom(processor.parameters, settings), 1000, 48000, other)).toBe(0);
  });
});

describe('mid and side', () => {
  const settings = { 'band1.on': true, 'band1.frequency': 1000, 'band1.gain': 6, 'band1.q': 1 };

  test.each(['mid', 'side'] as const)('a band on the %s leaves the other alone', (mode) => {
    const values = valuesFrom(processor.parameters, { ...settings, 'band1.mode': mode });
    const step = stepOf('eq', { ...settings, 'band1.mode': mode });
    const pulse = impulse(32768);
    const { left: mid } = through([step], pulse);
    const { left: side } = through([step], { left: pulse.left, right: pulse.right.map((x) => -x) });
    const [expectedMid, expectedSide] = mode === 'mid' ? [6, 0] : [0, 6];
    expect(Math.abs(gainDb(mid, 1000, 48000) - expectedMid)).toBeLessThan(1e-4);
    expect(Math.abs(gainDb(side, 1000, 48000) - expectedSide)).toBeLessThan(1e-4);
    expect(responseDb(values, 1000, 48000, 'mid')).toBeCloseTo(expectedMid, 9);
    expect(responseDb(values, 1000, 48000, 'side')).toBeCloseTo(expectedSide, 9);
  });
});
