import { expect, test } from 'vitest';
import { StereoKWeighting } from '../../src/measure/loudness/k-weighting.ts';
import { stereoKernel } from '../../src/measure/kernels/stereo-kernel.ts';
import { transformKernel } from '../../src/measure/kernels/transform-kernel.ts';
import { truePeakKernel } from '../../src/measure/kernels/true-peak-kernel.ts';
import { plainTransformer, slopeOf } from '../../src/measure/stereo/mid-side-transform.ts';
import { plainTruePeakIn } from '../../src/measure/peaks/true-peak-search.ts';
import { whiteNoise } from '../helpers/signals.ts';

const [left, right] = [whiteNoise(2, 1), whiteNoise(2, 2)];

test('the true peak found with SIMD is that of TypeScript', () => {
  expect(truePeakKernel()!(left, 0, -1, left.length)).toEqual(plainTruePeakIn(left, 0, -1, left.length));
});

test('energies weighted with SIMD are those of TypeScript, to the last bit', () => {
  const energies = [stereoKernel()!, null].map((kernel) => {
    const sums = { left: 0, right: 0, cross: 0 };
    const filter = new StereoKWeighting(48_000, kernel);
    for (let from = 0; from < left.length; from += 480) filter.add(left, right, from, 480, sums);
    return sums;
  });
  expect(energies[0]).toEqual(energies[1]);
});

test('a frame transformed with SIMD is that of TypeScript', () => {
  const expected = plainTransformer(8192)(left, right, 100);
  const found = transformKernel(8192, slopeOf(8192))!(left, right, 100);
  expect(expected.reduce((most, value, n) => Math.max(most, Math.abs(value - found[n]!)), 0)).toBeLessThan(1e-9);
});
