import { describe, expect, it } from 'vitest';
import type { StereoSound } from '../../src/audio/audio.ts';
import { Chain } from '../../src/dsp/core/chain.ts';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { processor } from '../../src/dsp/processors/convolution.ts';
import { both, firstDifference, impulse, noise, ROOM, run, stepOf, through, tone } from '../helpers/chains.ts';
import { decayTime } from '../helpers/room-figures.ts';
import { pinkNoise } from '../helpers/signals.ts';

const convolved = (settings: Settings, sound: StereoSound = ROOM) => [
  { ...stepOf('convolution', { mix: 100, ...settings }), sound },
];
const powerOf = (samples: Float64Array): number => samples.reduce((sum, x) => sum + x * x, 0);
const scaled = ({ left, right }: StereoSound, gain: number): StereoSound => ({
  hash: `${gain}`,
  left: left.map((x) => gain * x),
  right: right.map((x) => gain * x),
});

describe('convolution', () => {
  it('gives the response on each side, at one gain, after the pre-delay', () => {
    const { left, right } = through(convolved({ preDelay: 10 }), impulse(8000));
    const gain = left[480]! / ROOM.left[0]!;
    for (const [side, response] of [
      [left, ROOM.left],
      [right, ROOM.right],
    ] as const) {
      expect(Math.max(...side.subarray(0, 480).map(Math.abs))).toBe(0);
      for (let n = 0; n < 7000; n++) expect(Math.abs(side[480 + n]! - gain * (response[n] ?? 0))).toBeLessThan(1e-12);
    }
  });

  it('gives pink noise back at its own level, whatever level was recorded', () => {
    const pink = both(Float64Array.from(pinkNoise(5, 3)));
    for (const recorded of [1, 0.003]) {
      const { left, right } = through(convolved({}, scaled(ROOM, recorded)), pink);
      const change = 10 * Math.log10((powerOf(left) + powerOf(right)) / (2 * powerOf(pink.left)));
      // Five seconds of pink noise are one chance of many.
      expect(Math.abs(change)).toBeLessThan(0.3);
    }
  });

  it('is a wire until a response is chosen', () => {
    const input = noise(5000, 2);
    const { values } = stepOf('convolution', { mix: 100 });
    expect(firstDifference(through([{ processor: 'convolution', values }], input), input)).toBe(null);
    expect(processor.tail(values, 48000, null)).toBe(0);
  });

  it('folds to one point without width', () => {
    const { left, right } = through(convolved({ width: 0 }), noise(9000, 4));
    // Mixing with two unlike dry sides rounds each in its own way.
    left.forEach((x, n) => expect(Math.abs(x - right[n]!)).toBeLessThan(1e-13));
    expect(powerOf(left)).toBeGreaterThan(100);
  });
});

describe('the response', () => {
  const frames = 48000;
  /** Noise that falls by 60 dB in `seconds`. */
  const decaying = (seconds: number, seed: number): Float32Array =>
    Float32Array.from(noise(frames, seed).left, (x, n) => x * 10 ** ((-3 * n) / (seconds * 48000)));
  const space = (seconds: number): StereoSound => ({
    hash: `${seconds}`,
    left: decaying(seconds, 7),
    right: decaying(seconds, 8),
  });

  it.each([0.2, 0.5, 0.9])('decays by 60 dB in its own %f s (T30 after ISO 3382-1)', (seconds) => {
    const { left, right } = through(convolved({}, space(seconds)), impulse(frames + 100));
    // A response of finite length misses what it would have sounded on for: least of all down to -35 dB.
    for (const side of [left, right]) expect(Math.abs(decayTime(side) / seconds - 1)).toBeLessThan(0.03);
  });

  it('shortened, is the same until it fades, and ends where it is cut', () => {
    const response = space(0.9);
    const { left } = through(convolved({ length: 50 }, response), impulse(frames));
    const gain = left[0]! / response.left[0]!;
    for (let n = 0; n < 16000; n++) expect(Math.abs(left[n]! - gain * response.left[n]!)).toBeLessThan(1e-12);
    expect(left.subarray(24000).every((x) => Math.abs(x) < 1e-12)).toBe(true);
    expect(processor.tail(stepOf('convolution', { mix: 100, length: 50 }).values, 48000, response)).toBe(24000);
  });

  it('shortened on the way, lets what came in before ring out, and does not click', () => {
    const response = space(0.2);
    const input = tone(500, 40000, 0.5);
    const chain = new Chain(convolved({}, response), 48000, 128);
    const cut = (from: number, to: number) => ({
      left: input.left.slice(from, to),
      right: input.right.slice(from, to),
    });
    run(chain, cut(0, 20000));
    chain.set(0, stepOf('convolution', { mix: 100, length: 20 }).values);
    const { left: moved } = run(chain, cut(20000, 40000));
    const still = through(convolved({}, response), input).left.subarray(20000);
    const bend = (x: Float64Array): number =>
      x.reduce((most, _, n) => (n < 2 ? most : Math.max(most, Math.abs(x[n]! - 2 * x[n - 1]! + x[n - 2]!))), 0);
    expect(bend(moved)).toBeLessThan(3 * bend(still));
    // Where a click would be heard first: nothing has changed yet.
    for (let n = 0; n < 20; n++) expect(Math.abs(moved[n]! - still[n]!)).toBeLessThan(1e-3);
  });
});
