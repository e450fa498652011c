import { describe, expect, test } from 'vitest';
import { Chain } from '../../src/dsp/core/chain.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { processor, responseDb } from '../../src/dsp/processors/eq.ts';
import { levelAt } from '../helpers/tones.ts';
import { both, firstDifference, noise, peakOf, run, steady, stepOf, through, tone } from '../helpers/chains.ts';

const RATE = 48000;
const tailOf = (settings: Settings): number => processor.tail(valuesFrom(processor.parameters, settings), RATE);

/** Last frame after `from` at which the output is not below -120 dB. */
const lastHeard = (settings: Settings, sound: Float64Array): number => {
  const from = sound.length;
  const left = new Float64Array(from + tailOf(settings) + RATE);
  left.set(sound);
  const output = through([stepOf('eq', settings)], { left, right: left.slice() }).left;
  return output.findLastIndex((x) => Math.abs(x) >= 1e-6) - from;
};

describe('the stated tail', () => {
  test.each([
    ['a narrow boost', { 'band1.shape': 'bell', 'band1.frequency': 60, 'band1.gain': 24, 'band1.q': 20 }, 60],
    ['a steep low cut', { 'band1.shape': 'low cut', 'band1.frequency': 30, 'band1.slope': '48 dB/oct' }, 30],
    ['a wide shelf', { 'band1.shape': 'low shelf', 'band1.frequency': 100, 'band1.gain': -24, 'band1.q': 0.1 }, 20],
    ['double poles', { 'band1.shape': 'bell', 'band1.frequency': 100, 'band1.gain': 12, 'band1.q': 0.2506 }, 100],
  ] as const)('of %s is never too short and at most three times too long', (_, settings, hz) => {
    const on = { ...settings, 'band1.on': true };
    const sounds = [tone(hz, 3 * RATE).left, steady(1, RATE).left, noise(RATE, 2).left];
    const heard = Math.max(...sounds.map((sound) => lastHeard(on, sound)));
    expect(heard).toBeGreaterThan(0);
    expect(tailOf(on)).toBeGreaterThanOrEqual(heard);
    expect(tailOf(on)).toBeLessThan(3 * heard);
  });

  test('of no active band is nothing', () => {
    expect(tailOf({})).toBe(0);
    expect(tailOf({ 'band1.on': true, 'band2.gain': 6 })).toBe(0);
  });
});

describe('a band without effect', () => {
  test('is a wire: off whatever its settings, or on with 0 dB', () => {
    const input = noise(3000, 1, 16);
    const idle = [
      { 'band3.gain': 12, 'band3.shape': 'low cut', 'band3.mode': 'side' },
      { 'band3.on': true, 'band3.frequency': 50, 'band3.q': 20, 'band3.mode': 'mid' },
      { 'band3.on': true, 'band3.shape': 'high shelf' },
    ];
    for (const settings of idle) expect(firstDifference(through([stepOf('eq', settings)], input), input)).toBe(null);
  });

  test('becomes one again to the last bit soon after it is switched off', () => {
    const chain = new Chain([stepOf('eq', { 'band1.on': true, 'band1.gain': 12, 'band1.mode': 'mid' })], RATE, 128);
    const input = noise(RATE, 3);
    expect(firstDifference(run(chain, input), input)).not.toBe(null);
    chain.set(0, stepOf('eq').values);
    run(chain, input);
    expect(firstDifference(run(chain, input), input)).toBe(null);
  });

  test('costs the bands that work nothing: they give the same samples beside it', () => {
    const band = { 'band1.on': true, 'band1.gain': 6, 'band8.on': true, 'band8.gain': -3 };
    const input = noise(3000, 4);
    const alone = through([stepOf('eq', band)], input);
    expect(firstDifference(through([stepOf('eq', { ...band, 'band5.on': true })], input), alone)).toBe(null);
  });
});

describe('a band that moves', () => {
  test('lands where a new one with the same settings stands', () => {
    const before = { 'band2.on': true, 'band2.frequency': 200, 'band2.gain': -12, 'band2.q': 8 };
    const after = {
      'band2.on': true,
      'band2.shape': 'high shelf',
      'band2.frequency': 5000,
      'band2.gain': 7,
      'band2.q': 1,
    };
    const chain = new Chain([stepOf('eq', before)], RATE, 128);
    run(chain, noise(RATE, 5));
    chain.set(0, stepOf('eq', after).values);
    run(chain, steady(0, 2 * RATE));
    const input = noise(RATE, 6);
    const fresh = through([stepOf('eq', after)], input);
    const output = run(chain, input);
    const apart = output.left.map((x, n) => x - fresh.left[n]!);
    expect(peakOf({ left: apart, right: apart })).toBeLessThan(1e-12);
  });
});

test('bands at one frequency add up in dB, mid apart from side', () => {
  const settings = {
    'band1.on': true,
    'band1.frequency': 1000,
    'band1.gain': 6,
    'band2.on': true,
    'band2.frequency': 1000,
    'band2.gain': 3,
    'band2.mode': 'mid',
    'band3.on': true,
    'band3.frequency': 1000,
    'band3.gain': -10,
    'band3.mode': 'side',
  };
  const values = valuesFrom(processor.parameters, settings);
  expect(responseDb(values, 1000, RATE, 'mid')).toBeCloseTo(9, 9);
  expect(responseDb(values, 1000, RATE, 'side')).toBeCloseTo(-4, 9);
  const points = processor.picture.points(values, RATE, 200);
  for (const [hz, db] of points) expect(db).toBeCloseTo(responseDb(values, hz, RATE, 'mid'), 9);
});

test('frequencies at and above half the sample rate are held below it', () => {
  const settings = { 'band1.on': true, 'band1.frequency': 22000, 'band1.gain': 24, 'band1.q': 20 };
  for (const rate of [22050, 32000, 44100]) {
    const output = through([stepOf('eq', settings)], noise(20000, 7), rate);
    expect(peakOf(output)).toBeLessThan(16 * 16);
    expect(peakOf(output)).toBeGreaterThan(0.5);
  }
});

describe('the share of a dynamic band', () => {
  const settings = {
    'band7.on': true,
    'band7.frequency': 7000,
    'band7.dynamic': 'down',
    'band7.threshold': -60,
    'band7.ratio': 20,
    'band7.range': 9,
    'band7.attack': 1.5,
  };
  /** Level at 7 kHz once all has settled, of a tone there beside one of 300 Hz, against what came in; dB. */
  const takenAt7k = (share: number, sevenDb: number, lowDb: number): number => {
    const frames = 24_000;
    const add = (a: Float64Array, b: Float64Array): Float64Array => a.map((x, n) => x + b[n]!);
    const seven = tone(7000, frames, 10 ** (sevenDb / 20)).left;
    const input = both(add(seven, tone(300, frames, 10 ** (lowDb / 20)).left));
    const output = through([stepOf('eq', { ...settings, 'band7.share': share })], input).left.subarray(frames / 2);
    return levelAt(output, 7000) - sevenDb;
  };

  test('turns down what makes up most of the sound, and leaves as much of it in louder sound', () => {
    expect(takenAt7k(-9, -30, -60)).toBeLessThan(-8);
    expect(Math.abs(takenAt7k(-9, -30, -12))).toBeLessThan(0.1);
  });

  test('goes by the ratio alone, however loud, and is off at its lowest setting', () => {
    for (const [seven, low] of [
      [-30, -60],
      [-30, -12],
    ] as const)
      expect(takenAt7k(-9, seven, low)).toBeCloseTo(takenAt7k(-9, seven - 12, low - 12), 1);
    expect(takenAt7k(-60, -30, -12)).toBeLessThan(-8);
  });
});

test('bands of the side alone are in the picture', () => {
  const settings = { 'band1.on': true, 'band1.shape': 'low cut', 'band1.frequency': 150, 'band1.mode': 'side' };
  const [, db] = processor.picture.points(valuesFrom(processor.parameters, settings), RATE, 200)[0]!;
  expect(db).toBeLessThan(-20);
});
