import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { correlationOf, energyRatioDb, monoLossOf } from '../../../src/measure/stereo/stereo.ts';
import { weightedEnergyOf } from '../../../src/measure/loudness/weighted-energy.ts';
import { stereoSumsOf } from '../../helpers/meters.ts';
import { added, mono, scaled, stereo, whiteNoise } from '../../helpers/signals.ts';

const left = whiteNoise(1, 1);
const right = added(scaled(left, 0.4), whiteNoise(1, 2));

const pairs = fc
  .array(fc.tuple(fc.double({ min: -1, max: 1, noNaN: true }), fc.double({ min: -1, max: 1, noNaN: true })), {
    minLength: 1,
    maxLength: 50,
  })
  .map((list) => [Float32Array.from(list, ([l]) => l), Float32Array.from(list, ([, r]) => r)] as const);

describe('stereo sums', () => {
  test('twice mid and side together is left and right together', () => {
    fc.assert(
      fc.property(pairs, ([l, r]) => {
        const sums = stereoSumsOf(l, r);
        expect(2 * (sums.mid + sums.side)).toBeCloseTo(sums.left + sums.right, 9);
        expect(sums.mid - sums.side).toBeCloseTo(sums.cross, 9);
      }),
    );
  });

  test('correlation is the cosine between the two channels, or does not exist', () => {
    const product = (a: Float32Array, b: Float32Array): number => a.reduce((sum, x, n) => sum + x * b[n]!, 0);
    fc.assert(
      fc.property(pairs, ([l, r]) => {
        const correlation = correlationOf(stereoSumsOf(l, r));
        const energies = [product(l, l), product(r, r)] as const;
        if (Math.min(...energies) === 0) expect(correlation).toBeNull();
        // Energies near the smallest doubles lose their digits.
        else if (Math.min(...energies) > 1e-60)
          expect(correlation).toBeCloseTo(product(l, r) / Math.sqrt(energies[0]) / Math.sqrt(energies[1]), 9);
      }),
    );
  });

  test('swapping sides keeps correlation, width and loss and turns the balance', () => {
    const sums = stereoSumsOf(left, right);
    const swapped = stereoSumsOf(right, left);
    // The sums are added up in another order: equal but for the rounding of double precision.
    expect(correlationOf(swapped)).toBeCloseTo(correlationOf(sums)!, 14);
    expect(energyRatioDb(swapped.side, swapped.mid)).toBeCloseTo(energyRatioDb(sums.side, sums.mid)!, 12);
    expect(energyRatioDb(swapped.right, swapped.left)).toBeCloseTo(-energyRatioDb(sums.right, sums.left)!, 9);
    expect(monoLossOf(weightedEnergyOf(stereo(right, left)))).toBe(monoLossOf(weightedEnergyOf(stereo(left, right))));
  });

  test('inverting one side turns correlation and side to mid', () => {
    const sums = stereoSumsOf(left, right);
    const turned = stereoSumsOf(left, scaled(right, -1));
    expect(correlationOf(turned)).toBeCloseTo(-correlationOf(sums)!, 12);
    expect(energyRatioDb(turned.side, turned.mid)).toBeCloseTo(-energyRatioDb(sums.side, sums.mid)!, 9);
  });

  test('gain on one side alone leaves the correlation', () => {
    expect(correlationOf(stereoSumsOf(left, scaled(right, 0.25)))).toBeCloseTo(
      correlationOf(stereoSumsOf(left, right))!,
      9,
    );
  });
});

describe('mono loss', () => {
  test('is 0 for identical channels, and never above', () => {
    expect(monoLossOf(weightedEnergyOf(stereo(left)))).toBeCloseTo(0, 9);
    fc.assert(
      fc.property(pairs, ([l, r]) => {
        const loss = monoLossOf(weightedEnergyOf(stereo(l, r)));
        if (loss !== null) expect(loss).toBeLessThanOrEqual(0);
      }),
    );
  });

  test('exists for a single frame, not for one channel and not for silence', () => {
    expect(monoLossOf(weightedEnergyOf(stereo(Float32Array.of(0.5), Float32Array.of(0))))).toBeCloseTo(-3.0103, 4);
    expect(monoLossOf(weightedEnergyOf(mono(left)))).toBeNull();
    expect(monoLossOf(weightedEnergyOf(stereo(new Float32Array(100))))).toBeNull();
  });
});
