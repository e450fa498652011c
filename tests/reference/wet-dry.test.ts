import { describe, expect, test } from 'vitest';
import type { MixLaw } from '../../src/dsp/core/wet-dry.ts';
import { noise, stepOf, through } from '../helpers/chains.ts';

// Levels of a sound and its own copy, and of two sounds that have nothing in common, after both laws: 20 log10 of the sum of
// the gains, 10 log10 of the sum of their squares. Equal-power gains are sin and cos of a quarter turn (common practice).
const LAWS: readonly (readonly [MixLaw, wet: number, alike: number, unlike: number])[] = [
  ['linear', 0.25, 0, -2.0412],
  ['linear', 0.5, 0, -3.0103],
  ['equal power', 0.25, 2.3226, 0],
  ['equal power', 0.5, 3.0103, 0],
];

const power = (samples: Float64Array): number => samples.reduce((sum, x) => sum + x * x, 0);
const change = (from: Float64Array, to: Float64Array): number => 10 * Math.log10(power(to) / power(from));

describe.each(LAWS)('%s at %d wet', (law, wet, alike, unlike) => {
  const wetDry = { wet, law };

  test(`lifts what is alike by ${alike} dB, behind a look-ahead too`, () => {
    const input = noise(48000, 1);
    const step = { ...stepOf('limiter'), wetDry };
    // The silence of the latency in front is as long on both sides of the comparison.
    const late = through([stepOf('limiter')], input);
    expect(Math.abs(change(late.left, through([step], input).left) - alike)).toBeLessThan(1e-4);
  });

  test(`changes what has nothing in common by ${unlike} dB`, () => {
    const frames = 20 * 48000;
    const input = noise(frames, 2);
    // A late echo of noise has nothing in common with the noise.
    const left = new Float32Array(4801);
    left[4800] = 1;
    const echo = { hash: 'echo', left, right: left };
    const step = { ...stepOf('convolution', { mix: 100 }), sound: echo, wetDry };
    const output = through([step], input).left.subarray(4800);
    // Chance leaves 1 part in the root of a million samples in common: 0.01 dB.
    expect(Math.abs(change(input.left.subarray(4800), output) - unlike)).toBeLessThan(0.02);
  });
});
