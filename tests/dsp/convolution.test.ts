import { describe, expect, it } from 'vitest';
import type { StereoSound } from '../../src/dsp/audio.ts';
import type { Settings } from '../../src/dsp/parameter.ts';
import { processor } from '../../src/dsp/processors/convolution.ts';
import { both, firstDifference, impulse, noise, ROOM, stepOf, through } from '../helpers/chains.ts';
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
