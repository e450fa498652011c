import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { changeOf } from '../../src/measure/change.ts';
import { DEFINITIONS, FIGURE_KEYS, type FigureKey } from '../../src/measure/definitions/definitions.ts';
import type { Figures, Measurement, StereoFigures } from '../../src/measure/figures.ts';
import { measure } from '../../src/measure/measure.ts';
import { joined, mono, scaled, silence, sine, stereo, whiteNoise } from '../helpers/signals.ts';

/** Every value that goes by the name `key`: one, or one a band. */
function valuesOf(figures: Figures, key: FigureKey): (number | null)[] {
  const [group, name] = key.split('.');
  if (group === 'stereo') return [figures.stereo[name as keyof StereoFigures]];
  if (group === 'bands') return figures.bands.map((band) => band[name as 'levelDb' | 'sideToMidDb']);
  return [figures[key as Exclude<keyof Figures, 'stereo' | 'bands'>]];
}

/** Every figure is a finite number, or null with a reason; nothing else has a reason. */
function expectHonest(measurement: Measurement): void {
  for (const key of FIGURE_KEYS) {
    const values = valuesOf(measurement, key);
    for (const value of values) if (value !== null) expect(Number.isFinite(value), key).toBe(true);
    if (values.includes(null)) expect(measurement.reasons[key], key).toMatch(/\w/);
    else if (values.length > 0) expect(measurement.reasons[key], key).toBeUndefined();
  }
  for (const key of Object.keys(measurement.reasons)) expect(FIGURE_KEYS).toContain(key);
}

const reasonsOf = (audio: Audio): Readonly<Record<string, string>> => {
  const measurement = measure(audio);
  expectHonest(measurement);
  return measurement.reasons;
};

describe('what a measurement says of sound that has few figures', () => {
  test('silence has no figure but its offset, and says so', () => {
    const measurement = measure(stereo(silence(5)));
    expectHonest(measurement);
    expect(measurement.integratedLufs).toBeNull();
    expect(measurement.truePeakDbtp).toBeNull();
    expect(measurement.dcOffset).toBe(0);
    expect(measurement.bands.length).toBe(30);
    expect(new Set(Object.values(measurement.reasons))).toEqual(new Set(['silence']));
  });

  test('a single sample has a peak, a level and a spectrum, and no loudness', () => {
    const measurement = measure(mono(Float32Array.of(0.5)));
    expectHonest(measurement);
    expect(measurement.samplePeakDbfs).toBeCloseTo(-6.0206, 4);
    expect(measurement.truePeakDbtp).toBeCloseTo(-6.0206, 4);
    expect(measurement.crestDb).toBeCloseTo(0, 9);
    expect(measurement.reasons['integratedLufs']).toBe('shorter than 0.4 s');
    expect(measurement.reasons['plrDb']).toBe('shorter than 0.4 s');
    expect(measurement.reasons['maxShortTermLufs']).toBe('shorter than 3 s');
  });

  test('one channel has no stereo figures', () => {
    const reasons = reasonsOf(mono(whiteNoise(4, 1)));
    expect(reasons['stereo.correlation']).toBe('one channel');
    expect(reasons['stereo.monoLossLu']).toBe('one channel');
    expect(reasons['bands.sideToMidDb']).toBe('one channel');
  });

  test('six channels have loudness and no stereo figures, seven have no loudness either', () => {
    const channels = Array.from({ length: 7 }, (_, c) => whiteNoise(4, c));
    const six = reasonsOf({ sampleRate: 48000, channels: channels.slice(0, 6) });
    expect(six['stereo.balanceDb']).toBe('more than two channels');
    expect(six['integratedLufs']).toBeUndefined();
    expect(reasonsOf({ sampleRate: 48000, channels })['integratedLufs']).toBe('more than six channels');
  });

  test('too low a sample rate has no loudness', () => {
    const reasons = reasonsOf(stereo(whiteNoise(4, 1, 0.1, 2000), whiteNoise(4, 2, 0.1, 2000), 2000));
    expect(reasons['integratedLufs']).toBe('sample rate below 4 kHz');
    expect(reasons['stereo.monoLossLu']).toBe('sample rate below 4 kHz');
  });

  test('what is too quiet for the gate has maxima but no integrated loudness', () => {
    const measurement = measure(stereo(whiteNoise(4, 3, 1e-5)));
    expectHonest(measurement);
    expect(measurement.reasons['integratedLufs']).toBe('nothing above -70 LUFS');
    expect(measurement.maxMomentaryLufs).toBeLessThan(-70);
  });

  test('no samples at all leave no figure', () => {
    expect(new Set(Object.values(reasonsOf(mono(new Float32Array(0)))))).toEqual(new Set(['no samples']));
    expect(new Set(Object.values(reasonsOf({ sampleRate: 48000, channels: [] })))).toEqual(new Set(['no samples']));
  });

  test.each([Number.NaN, Number.POSITIVE_INFINITY])(
    'a sample that is %f leaves no figure, and measuring ends',
    (broken) => {
      const samples = whiteNoise(4, 4);
      samples[1000] = broken;
      expect(new Set(Object.values(reasonsOf(stereo(samples))))).toEqual(new Set(['samples that are not numbers']));
    },
  );

  test('any short sound has figures that are numbers or have a reason', () => {
    const samples = fc.array(fc.float({ noNaN: true, noDefaultInfinity: true }), { maxLength: 40 });
    fc.assert(
      fc.property(samples, samples, fc.constantFrom(1, 999, 4000, 8000, 44100), (a, b, rate) => {
        const frames = Math.min(a.length, b.length);
        expectHonest(
          measure(stereo(Float32Array.from(a.slice(0, frames)), Float32Array.from(b.slice(0, frames)), rate)),
        );
        expectHonest(measure(mono(Float32Array.from(a), rate)));
      }),
      { numRuns: 60 },
    );
  });
});

describe('what a measurement says of ordinary sound', () => {
  const sound = stereo(
    joined(whiteNoise(3, 5, 0.05), sine({ hz: 300, seconds: 3, db: -10 })),
    joined(whiteNoise(3, 6, 0.05), sine({ hz: 300, seconds: 3, db: -16 })),
  );

  test('every figure exists', () => {
    const measurement = measure(sound);
    expectHonest(measurement);
    expect(measurement.reasons).toEqual({});
  });

  test('peaks and levels agree with each other', () => {
    const { truePeakDbtp, samplePeakDbfs, rmsDbfs, crestDb, plrDb, integratedLufs } = measure(sound);
    expect(truePeakDbtp!).toBeGreaterThanOrEqual(samplePeakDbfs!);
    expect(crestDb!).toBeCloseTo(samplePeakDbfs! - rmsDbfs!, 9);
    expect(plrDb!).toBeCloseTo(truePeakDbtp! - integratedLufs!, 9);
  });

  test('a gain of 6.02 dB shows as that in levels and loudness, and nowhere else', () => {
    const louder = { ...sound, channels: sound.channels.map((samples) => scaled(samples, 2)) };
    const change = changeOf(measure(sound), measure(louder));
    const moved = [
      'integratedLufs',
      'maxMomentaryLufs',
      'maxShortTermLufs',
      'truePeakDbtp',
      'samplePeakDbfs',
      'rmsDbfs',
      'bands.levelDb',
    ];
    // The offset doubles with the samples.
    expect(change.dcOffset!).toBeCloseTo(measure(sound).dcOffset!, 9);
    for (const key of FIGURE_KEYS.filter((name) => name !== 'dcOffset')) {
      const expected = moved.includes(key) ? 20 * Math.log10(2) : 0;
      for (const value of valuesOf(change, key)) expect(value!, key).toBeCloseTo(expected, 6);
    }
  });
});

describe('the change between two measurements', () => {
  const one = measure(stereo(whiteNoise(4, 7), whiteNoise(4, 8)));
  const alone = measure(mono(whiteNoise(4, 9)));

  test('of a sound with itself is 0 throughout', () => {
    const change = changeOf(one, one);
    for (const key of FIGURE_KEYS) for (const value of valuesOf(change, key)) expect(value).toBe(0);
  });

  test('does not exist where either side has no figure', () => {
    const change = changeOf(alone, one);
    expect(change.stereo).toEqual({ correlation: null, sideToMidDb: null, balanceDb: null, monoLossLu: null });
    expect(change.bands.every(({ levelDb, sideToMidDb }) => levelDb !== null && sideToMidDb === null)).toBe(true);
  });

  test('turns its sign with the order', () => {
    const there = changeOf(one, alone);
    const back = changeOf(alone, one);
    expect(there.integratedLufs).toBeCloseTo(-back.integratedLufs!, 12);
    expect(there.bands[5]!.levelDb).toBeCloseTo(-back.bands[5]!.levelDb!, 12);
  });

  test('has the bands that both have', () => {
    const narrow = measure(mono(whiteNoise(4, 9, 0.1, 8000), 8000));
    const bands = changeOf(alone, narrow).bands.map(({ hz }) => hz);
    expect(bands).toEqual(narrow.bands.map(({ hz }) => hz));
  });
});

describe('definitions', () => {
  test('there is one for every figure of a measurement, and for nothing else', () => {
    const measurement = measure(stereo(whiteNoise(1, 1), whiteNoise(1, 2)));
    const single = Object.keys(measurement).filter((name) => !['stereo', 'bands', 'reasons', 'notes'].includes(name));
    const sides = Object.keys(measurement.stereo).map((name) => `stereo.${name}`);
    const band = Object.keys(measurement.bands[0]!).filter((name) => name !== 'hz');
    const keys = [...single, ...sides, ...band.map((name) => `bands.${name}`)];
    expect([...FIGURE_KEYS].sort()).toEqual(keys.sort());
  });

  test('each says in one sentence what the figure is, where it comes from and when it is absent', () => {
    for (const [key, definition] of Object.entries(DEFINITIONS)) {
      expect(definition.definition, key).toMatch(/^[A-Z].+\.$/);
      for (const words of [definition.label, definition.source, definition.range, definition.nullWhen]) {
        expect(words, key).toMatch(/\w/);
      }
    }
  });
});
