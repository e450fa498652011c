import { describe, expect, test } from 'vitest';
import { decibelsOf, gainOf } from '../../src/audio/decibels.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { CONTROL_FRAMES, type KeySignal } from '../../src/dsp/core/processor.ts';
import { HarshnessControlKernel, processor, reductionFor } from '../../src/dsp/processors/harshness-control.ts';
import { spectrumOf } from '../../src/measure/spectrum.ts';
import { thirdOctavesBelow } from '../../src/measure/third-octaves.ts';
import { both, firstDifference, later, noise, peakOf, stepOf, through, tone } from '../helpers/chains.ts';
import { pinkNoise } from '../helpers/signals.ts';
import { powerSpectrum } from '../helpers/splatter.ts';

const LATENCY = 2048;
/** What is measured begins here: the averages have settled. */
const SETTLED = 24000;

const valuesOf = (settings: Settings) => valuesFrom(processor.parameters, settings);
const controlled = (settings: Settings, input: KeySignal, sampleRate = 48000): KeySignal =>
  through([stepOf('harshness-control', settings)], input, sampleRate);

const pink = (seed: number, rms = 0.1): KeySignal => ({
  left: Float64Array.from(pinkNoise(2, seed, rms)),
  right: Float64Array.from(pinkNoise(2, seed + 100, rms)),
});
const bell = (input: KeySignal, hz: number, db: number, sampleRate = 48000): KeySignal => {
  const settings = { 'band1.on': true, 'band1.shape': 'bell', 'band1.frequency': hz, 'band1.gain': db, 'band1.q': 8 };
  return through([stepOf('eq', settings)], input, sampleRate);
};
const scaled = ({ left, right }: KeySignal, gain: number): KeySignal => ({
  left: left.map((x) => gain * x),
  right: right.map((x) => gain * x),
});

/** Level change within a 24th of an octave around `hz`, dB, the latency taken off. */
const changeAt = (before: Float64Array, after: Float64Array, hz: number, sampleRate = 48000, latency = LATENCY) => {
  const level = (samples: Float64Array): number => {
    const power = powerSpectrum(samples.subarray(0, 65536));
    const hzPerBin = sampleRate / 2 / power.length;
    const inside = power.filter((_, bin) => Math.abs(Math.log2((bin * hzPerBin) / hz)) < 1 / 48);
    return 10 * Math.log10(inside.reduce((sum, x) => sum + x, 0));
  };
  return level(after.subarray(SETTLED + latency)) - level(before.subarray(SETTLED));
};

/** Level change of each third of an octave, dB. */
const changes = (before: KeySignal, after: KeySignal) => {
  const bands = ({ left, right }: KeySignal, from: number) => {
    const part = (side: Float64Array) => Float32Array.from(side.subarray(from, from + 65536));
    return spectrumOf({ sampleRate: 48000, channels: [part(left), part(right)] }).level.bands;
  };
  const [a, b] = [bands(before, SETTLED), bands(after, SETTLED + LATENCY)];
  return thirdOctavesBelow(48000)
    .map(({ hz }, band) => ({ hz, db: 10 * Math.log10(b[band]! / a[band]!) }))
    .filter(({ hz }) => hz > 90);
};

describe('leaves alone', () => {
  test.each([-80, -20, 10])('pink noise at %d dB: no third of an octave changes by 0.1 dB', (db) => {
    const input = pink(1, gainOf(db));
    for (const { hz, db: change } of changes(input, controlled({ range: 24 }, input)))
      expect(Math.abs(change), `${hz} Hz`).toBeLessThan(0.1);
  });

  test('what is loud without sticking out: a shelf of 18 dB', () => {
    const shelf = { 'band1.on': true, 'band1.shape': 'high shelf', 'band1.frequency': 3000, 'band1.gain': 18 };
    const input = through([stepOf('eq', shelf)], pink(2));
    for (const { hz, db } of changes(input, controlled({ range: 24 }, input)))
      expect(Math.abs(db), `${hz} Hz`).toBeLessThan(0.5);
  });

  test('every sample, when nothing sticks out far enough', () => {
    const input = noise(12000, 3);
    const output = controlled({ range: 24, prominence: 12 }, input);
    expect(firstDifference(output, later(input, LATENCY))).toBe(null);
  });

  test('what lies outside of the range', () => {
    const input = bell(pink(4), 1200, 9);
    for (const { hz, db } of changes(input, controlled({ range: 24 }, input)))
      expect(Math.abs(db), `${hz} Hz`).toBeLessThan(0.1);
  });
});

describe('a resonance of 9 dB in pink noise', () => {
  test.each([
    [2500, 6],
    [3500, 3],
    [3500, 6],
    [6500, 6],
  ])('at %d Hz is turned down by the range of %d dB, and nothing beside it', (hz, range) => {
    const input = bell(pink(5), hz, 9);
    const output = controlled({ range }, input);
    expect(Math.abs(changeAt(input.left, output.left, hz) + range)).toBeLessThan(0.3);
    for (const { hz: third, db } of changes(input, output))
      if (Math.abs(Math.log2(third / hz)) > 0.6) expect(Math.abs(db), `${third} Hz`).toBeLessThan(0.2);
  });

  test('is levelled with what is around it, no further, however deep the range', () => {
    const input = bell(pink(6), 4000, 9);
    const change = changeAt(input.left, controlled({ range: 24 }, input).left, 4000);
    expect(change).toBeLessThan(-6.5);
    expect(change).toBeGreaterThan(-9);
  });

  test('is turned down in a part of the spectrum that is 18 dB softer than the rest', () => {
    const shelf = { 'band1.on': true, 'band1.shape': 'high shelf', 'band1.frequency': 1000, 'band1.gain': -18 };
    const input = bell(through([stepOf('eq', shelf)], pink(7)), 6500, 9);
    expect(Math.abs(changeAt(input.left, controlled({ range: 6 }, input).left, 6500) + 6)).toBeLessThan(0.3);
  });

  test('on one side only is turned down on both, so that the picture stays still', () => {
    const { left } = bell(pink(8), 3500, 12);
    const { right } = pink(8);
    const output = controlled({ range: 4 }, { left, right });
    expect(Math.abs(changeAt(left, output.left, 3500) + 4)).toBeLessThan(0.3);
    expect(Math.abs(changeAt(right, output.right, 3500) + 4)).toBeLessThan(0.3);
  });

  test('at 96 kHz is turned down alike', () => {
    const input = bell(noise(120000, 9, 0.3), 3500, 9, 96000);
    const output = controlled({ range: 6 }, input, 96000);
    expect(Math.abs(changeAt(input.left, output.left, 3500, 96000, 4096) + 6)).toBeLessThan(0.3);
  });
});

describe('the reduction', () => {
  test('does not depend on the level: 20 dB softer in, 20 dB softer out', () => {
    const input = bell(pink(10), 3500, 9);
    const loud = controlled({ range: 6 }, input);
    const soft = controlled({ range: 6 }, scaled(input, 0.1));
    expect(peakOf(both(loud.left.map((x, n) => x - 10 * soft.left[n]!)))).toBeLessThan(1e-12);
  });

  test('begins at the prominence, is whole at twice that, and ends at the range', () => {
    const values = valuesOf({ range: 10, prominence: 4 });
    expect([-3, 4, 5, 6, 8, 9, 30].map((excess) => reductionFor(excess, values))).toEqual([0, 0, 2, 4, 8, 9, 10]);
  });

  test('reaches 63 % after the attack and falls to 37 % after the release, beside 50 ms of listening', () => {
    const kernel = new HarshnessControlKernel(valuesOf({ range: 8, attack: 150, release: 400 }), 48000);
    const { left, right } = noise(240000, 11, 0.05);
    const whistle = tone(4000, 96000, 0.1).left;
    for (let n = 0; n < 96000; n++) {
      left[n + 48000]! += whistle[n]!;
      right[n + 48000]! += whistle[n]!;
    }
    let reached = 0;
    let released = 0;
    for (let from = 0; from < left.length; from += CONTROL_FRAMES) {
      kernel.control();
      kernel.process(left, right, from, from + CONTROL_FRAMES);
      if (reached === 0 && kernel.reductionDb > 0.632 * 8) reached = from - 48000;
      if (from > 144000 && released === 0 && kernel.reductionDb < 0.368 * 8) released = from - 144000;
    }
    expect(reached / 48).toBeGreaterThan(150);
    expect(reached / 48).toBeLessThan(210);
    expect(released / 48).toBeGreaterThan(400);
    expect(released / 48).toBeLessThan(400 + 250);
  });

  test('of a range of any width is decided in 24 bands at least', () => {
    const { bandsHz } = new HarshnessControlKernel(valuesOf({}), 44100);
    const inside = (from: number, to: number): number => bandsHz.filter((hz) => hz >= from && hz <= to).length;
    expect(inside(2000, 8000)).toBeGreaterThanOrEqual(48);
    // The narrowest range is an octave.
    for (const from of [500, 3000, 8000]) expect(inside(from, 2 * from)).toBeGreaterThanOrEqual(24);
  });
});

describe('what goes', () => {
  test('and what is left are the sound together', () => {
    const input = bell(pink(12), 3500, 12);
    const left = controlled({ range: 12 }, input).left;
    const gone = controlled({ range: 12, listenToRemoved: true }, input).left;
    const sum = left.map((x, n) => x + gone[n]!);
    expect(peakOf(both(gone), SETTLED)).toBeGreaterThan(0.01);
    expect(peakOf(both(sum.map((x, n) => x - (input.left[n - LATENCY] ?? 0))))).toBeLessThan(1e-15);
  });

  test('is the resonance, and little else', () => {
    const input = bell(pink(13), 3500, 12);
    const { left } = controlled({ range: 12, listenToRemoved: true }, input);
    const power = powerSpectrum(left.subarray(SETTLED));
    const hzPerBin = 24000 / power.length;
    const inside = power.reduce((sum, x, bin) => sum + (Math.abs(Math.log2((bin * hzPerBin) / 3500)) < 0.3 ? x : 0), 0);
    const all = power.reduce((sum, x) => sum + x, 0);
    expect(decibelsOf(Math.sqrt((all - inside) / all))).toBeLessThan(-20);
  });
});
