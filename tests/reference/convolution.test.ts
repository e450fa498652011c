import { expect, it } from 'vitest';
import { Convolver } from '../../src/dsp/reverb/convolver.ts';

/** Linear congruential numbers from -1 to 1, exact in any language. */
const congruential = (length: number, seed: number): Float64Array => {
  let state = seed;
  return Float64Array.from({ length }, () => {
    state = (Math.imul(1664525, state) + 1013904223) >>> 0;
    return state / 2 ** 31 - 1;
  });
};

// Computed with scipy 1.17.1, scipy.signal.convolve(x, h, method='direct').
const EXPECTED = [
  [0, 0.2713220206380121],
  [1, -0.19554055366466272],
  [63, -2.743676046272984],
  [64, 0.49195788495333176],
  [65, 0.1746194288414691],
  [511, -6.220799676618324],
  [512, 11.194202880860356],
  [513, -1.0072474781754701],
  [4095, -10.937267880462588],
  [4096, -2.722000692439393],
  [4097, 0.832400315372002],
  [8191, -7.90704181036579],
  [8192, 3.5373962417339064],
  [8999, -14.94862161856049],
  [9000, 9.228441564233382],
  [11999, -7.759972171116997],
  [15000, -2.0205569718432494],
  [20998, 0.0027830505535436597],
] as const;

it('convolves as scipy does: 12000 samples with a decaying response of 9000', () => {
  const response = congruential(9000, 7).map((x, n) => x * Math.exp(-n / 2000));
  const signal = new Float64Array(21056);
  signal.set(congruential(12000, 11));
  const convolver = new Convolver(response);
  for (let at = 0; at < signal.length; at += 64) convolver.process(signal.subarray(at, at + 64), 64, 0);
  for (const [n, expected] of EXPECTED) expect(Math.abs(signal[n]! - expected)).toBeLessThan(1e-12);
  const energy = signal.subarray(0, 20999).reduce((sum, x) => sum + x * x, 0);
  expect(energy).toBeCloseTo(1374752.0277043923, 5);
});
