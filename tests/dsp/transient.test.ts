import { describe, expect, test } from 'vitest';
import { decibelsOf, gainOf } from '../../src/audio/decibels.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { processor } from '../../src/dsp/processors/transient.ts';
import { both, firstDifference, later, noise, steady, stepOf, through, tone } from '../helpers/chains.ts';
import { seeded } from '../helpers/signals.ts';

const RATE = 48000;
const LATENCY = processor.latency(valuesFrom(processor.parameters), RATE);

/** Output without its latency. */
const shaped = (settings: Settings, input: Float64Array): Float64Array => {
  const waiting = new Float64Array(input.length + LATENCY);
  waiting.set(input);
  return through([stepOf('transient', settings)], both(waiting)).left.slice(LATENCY);
};

/** Hits of noise every quarter of a second that die away in 40 ms, each `fallDb` softer than the one before. */
const hits = (count: number, fallDb = 0): Float64Array => {
  const random = seeded(5);
  return Float64Array.from({ length: count * 12000 }, (_, n) => {
    const since = (n % 12000) / RATE;
    return gainOf(-fallDb * Math.floor(n / 12000)) * Math.exp(-since / 0.04) * (2 * random() - 1);
  });
};

const energy = (samples: Float64Array, from: number, to: number): number =>
  samples.subarray(from, to).reduce((sum, x) => sum + x * x, 0);
/** Change of level over part of each hit, dB. */
const changeDb = (output: Float64Array, input: Float64Array, from: number, to: number): number =>
  10 * Math.log10(energy(output, from, to) / energy(input, from, to));
const crestDb = (samples: Float64Array): number =>
  decibelsOf(Math.max(...samples.map(Math.abs)) / Math.sqrt(energy(samples, 0, samples.length) / samples.length));

describe('attack', () => {
  test('raises or lowers the beginning and leaves the rest', () => {
    const input = hits(4);
    for (const attack of [12, -12]) {
      const output = shaped({ attack, speed: 20 }, input);
      for (let hit = 0; hit < 4; hit++) {
        const at = 12000 * hit;
        expect(changeDb(output, input, at, at + 96) / attack).toBeGreaterThan(0.8);
        expect(Math.abs(changeDb(output, input, at + 4800, at + 9600))).toBeLessThan(0.1);
      }
    }
  });

  test('moves the crest factor of drums both ways', () => {
    const input = hits(4);
    expect(crestDb(shaped({ attack: 9 }, input))).toBeGreaterThan(crestDb(input) + 2);
    expect(crestDb(shaped({ attack: -9 }, input))).toBeLessThan(crestDb(input) - 2);
  });

  test('lasts as long as the speed says', () => {
    // A step out of silence: the slow envelope is P (1 - a^n), the attack (P - S)^2 / ((P - S)^2 + S^2): half of it is
    // left where the envelope has come half-way, after ln 2 of the time. The sound comes 1.5 ms later, the gain 0.5 ms.
    for (const speed of [5, 20, 80]) {
      const output = shaped({ attack: 10, speed }, steady(0.5, 24000).left);
      const half = output.findIndex((x, n) => n > 100 && decibelsOf(x / 0.5) < 5);
      expect(Math.abs(half / 48 + 1.0 - speed * Math.LN2)).toBeLessThan(0.5);
    }
  });
});

describe('sustain', () => {
  test('raises or lowers what dies away and leaves the beginning', () => {
    const input = hits(4);
    for (const sustain of [12, -12]) {
      const output = shaped({ sustain, speed: 20 }, input);
      for (let hit = 1; hit < 4; hit++) {
        const at = 12000 * hit;
        expect(Math.abs(changeDb(output, input, at + 96, at + 480))).toBeLessThan(1.5);
        expect(changeDb(output, input, at + 6000, at + 9600) / sustain).toBeGreaterThan(0.8);
      }
    }
  });

  test('of a level that falls to another follows the envelope that falls over ten times the speed', () => {
    const frames = 48000;
    const input = Float64Array.from({ length: frames }, (_, n) => (n < 9600 ? 0.5 : 0.05));
    const output = shaped({ sustain: 10, speed: 10 }, input);
    // The peak of 12.5 ms holds for 599 frames, then the envelope falls from 10 towards 1 times the level in 100 ms each
    // 63 %: after t it is 1 + 9 e^-t, its square over that and 1 is the share of the sustain.
    for (const t of [0.5, 1, 2, 3]) {
      const gap = 9 * Math.exp(-t);
      const n = 9600 + 599 - LATENCY + Math.round(t * 4800);
      expect(decibelsOf(output[n]! / 0.05)).toBeCloseTo((10 * gap ** 2) / (gap ** 2 + 1), 1);
    }
    expect(decibelsOf(output.at(-1)! / 0.05)).toBeLessThan(0.1);
  });
});

describe('level', () => {
  test('makes no difference: soft hits are shaped as loud ones are', () => {
    const input = hits(3);
    const loud = shaped({ attack: 9, sustain: -6 }, input);
    const soft = shaped(
      { attack: 9, sustain: -6 },
      input.map((x) => x / 1024),
    );
    // A power of two scales exactly.
    soft.forEach((x, n) => expect(x * 1024).toBe(loud[n]));
  });

  test('of each hit makes no difference within one performance', () => {
    const input = hits(4, 10);
    const output = shaped({ attack: 12 }, input);
    const changes = [0, 1, 2, 3].map((hit) => changeDb(output, input, 12000 * hit + 24, 12000 * hit + 240));
    for (const change of changes) expect(Math.abs(change - changes[0]!)).toBeLessThan(0.8);
  });

  test('that is steady is left alone: sines from 40 Hz up settle to a gain of 1', () => {
    for (const hz of [40, 100, 1000]) {
      const input = tone(hz, 96000, 0.3).left;
      const output = shaped({ attack: 24, sustain: -24 }, input);
      for (let n = 90000; n < 96000; n++) if (input[n] !== 0) expect(output[n]! / input[n]!).toBeCloseTo(1, 3);
    }
  });

  test('of one side moves the other by as much as the link says', () => {
    const input = { left: hits(2), right: tone(100, 24000, 1e-3).left };
    const gains = (link: number): number => {
      const { right } = through([stepOf('transient', { attack: 12, link })], input);
      return decibelsOf(energy(right, 12048 + LATENCY, 12144 + LATENCY) / energy(input.right, 12048, 12144)) / 2;
    };
    expect(gains(100)).toBeGreaterThan(9);
    expect(Math.abs(gains(0))).toBeLessThan(0.1);
  });
});

test('neutral at 0 and 0 whatever the speed', () => {
  const input = noise(4000, 2);
  const output = through([stepOf('transient', { speed: 2, link: 0 })], input);
  expect(firstDifference(output, later(input, LATENCY))).toBe(null);
});

test('the picture is what happens to a hit', () => {
  const settings = { attack: 8, sustain: -6, speed: 30 };
  const points = processor.picture.points(valuesFrom(processor.parameters, settings), RATE, 50);
  const hit = Float64Array.from({ length: 24000 }, (_, n) => Math.exp(-n / 4800));
  const output = shaped(settings, hit);
  for (const [seconds, db] of points.slice(1, -1)) {
    const n = Math.round(seconds * RATE);
    // What the picture leaves out: the gain's own 0.5 ms, the sound's 1.5 ms, and the coarser steps of its time.
    expect(Math.abs(decibelsOf(output[n]!) - db)).toBeLessThan(0.5);
  }
});
