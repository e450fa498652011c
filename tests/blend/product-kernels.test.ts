import fc from 'fast-check';
import { afterEach, describe, expect, test, vi } from 'vitest';
import { paddedCount, productRoom, Products } from '../../src/blend/gram/dots.ts';
import { gramRowSteps, plainCrossProducts } from '../../src/blend/gram/gram-row.ts';
import { gramSteps, type Gram } from '../../src/blend/gram/gram.ts';
import { MidSideWeighting, PARTS, WEIGHTING_ROOM } from '../../src/blend/gram/mid-side-weighting.ts';
import { rowsOf } from '../../src/blend/gram/pairs.ts';
import { ExtremesWork } from '../../src/blend/peaks/peak-bounds.ts';
import { Kernels } from '../../src/measure/kernels/kernels.ts';
import { finished } from '../../src/audio/steps.ts';
import { seeded, stereo, whiteNoise } from '../helpers/signals.ts';
import { rowSum, SubBlockProducts } from '../../src/blend/gram/sub-blocks.ts';
import { sounds } from '../helpers/sounds.ts';

const ROOM = 2 ** 18;
const kernels = (): Kernels => Kernels.withRoom(ROOM)!;

/** Numbers between -1 and 1. */
const numbers = (count: number, seed: number): Float64Array => {
  const random = seeded(seed);
  return Float64Array.from({ length: count }, () => 2 * random() - 1);
};

/** Two sounds of one length. */
const pairOfSounds = fc.tuple(sounds, sounds).map(([left, right]) => {
  const length = Math.min(left.length, right.length);
  return [left.slice(0, length), right.slice(0, length)] as const;
});

describe('the kernels of blends', () => {
  test.each(['single', 'double'] as const)(
    'sum products in %s precision as TypeScript does, to the last bit',
    (kind) => {
      fc.assert(
        fc.property(
          fc.integer({ min: 1, max: 9 }),
          fc.integer({ min: 1, max: 50 }),
          fc.array(fc.nat(8), { minLength: 1, maxLength: 3 }),
          fc.boolean(),
          fc.nat(9),
          (count, length, changed, some, skipped) => {
            const rows = rowsOf(count, some ? [...new Set(changed.map((path) => path % count))] : null);
            const from = skipped % length;
            const values = numbers(count * length, 100 * count + length);
            const matrices = [Kernels.withRoom(productRoom(count, 8 * length, 1)), null].map((memory) => {
              const products = new Products(rows, length, kind, memory);
              products.vectors.forEach((vector, n) => vector.set(values.subarray(n * length, (n + 1) * length)));
              const matrix = products.matrix().fill(0.25);
              products.add(from, length, 0.7, matrix);
              return Array.from(rows.cells, (cell) => matrix[cell]!);
            });
            expect(matrices[0]).toEqual(matrices[1]);
          },
        ),
      );
    },
  );

  test('sum the products that are asked for', () => {
    // Whole numbers, so that the order of adding does not matter.
    const count = 6;
    const length = 11;
    const vectors = Array.from({ length: count }, (_, v) => Float64Array.from({ length }, (_, n) => ((v + 2) * n) % 7));
    const products = new Products(rowsOf(count, null), length, 'double', kernels());
    products.vectors.forEach((vector, n) => vector.set(vectors[n]!));
    const matrix = products.matrix();
    products.add(2, length, 3, matrix);
    for (let i = 0; i < count; i++) {
      for (let j = i; j < count; j++) {
        const sum = vectors[i]!.reduce((total, x, n) => total + (n < 2 ? 0 : x * vectors[j]![n]!), 0);
        expect(matrix[i * paddedCount(count) + j]).toBe(3 * sum);
      }
    }
  });

  test('weight mid and side as TypeScript does, forwards and backwards, to the last bit', () => {
    fc.assert(
      fc.property(pairOfSounds, fc.constantFrom(8000, 44100, 48000, 192000), ([left, right], rate) => {
        const count = left.length;
        const [fast, plain] = [Kernels.withRoom(8 * (PARTS + 1) * (count + 16) + WEIGHTING_ROOM + 1024), null].map(
          (memory) => {
            const filter = new MidSideWeighting(rate, memory);
            const sound = [Kernels.singles(memory, count), Kernels.singles(memory, count)] as const;
            sound[0].set(left);
            sound[1].set(right);
            const out = Kernels.doubles(memory, PARTS * count);
            const half = count >> 1;
            filter.weigh(...sound, 0, half, out, 0, count);
            filter.weigh(...sound, half, count - half, out, half, count);
            const forwards = out.slice();
            const state = filter.state.slice();
            filter.weighBackwards(out, 0, count, count);
            return { forwards, state, backwards: out.slice() };
          },
        );
        expect(fast).toEqual(plain);
      }),
    );
  });

  test('products with another sound are those of TypeScript, to the last bit', () => {
    fc.assert(
      fc.property(pairOfSounds, ([left, right]) => {
        const count = left.length;
        const memory = Kernels.withRoom(8 * (PARTS + 1) * (count + 16) + 1024)!;
        const own = memory.doubles(PARTS * count);
        own.set(numbers(PARTS * count, count));
        const sound = [memory.singles(count), memory.singles(count)] as const;
        sound[0].set(left);
        sound[1].set(right);
        const [fast, plain] = [memory.doubles(PARTS), new Float64Array(PARTS)] as const;
        memory.run.crossProducts(
          own.byteOffset,
          8 * count,
          sound[0].byteOffset,
          sound[1].byteOffset,
          count,
          fast.byteOffset,
        );
        plainCrossProducts(own, count, ...sound, 0, count, plain);
        expect([...fast]).toEqual([...plain]);
      }),
    );
  });

  test('sum the energies of sub-blocks as TypeScript does, to the last bit', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 30 }), fc.integer({ min: 1, max: 20 }), (pairs, count) => {
        const products = new SubBlockProducts(count, pairs);
        products.values.set(numbers(count * pairs, pairs));
        const weights = numbers(pairs, count);
        const energies = new Float64Array(count);
        for (let from = 0; from < count; from += 7)
          products.energies(weights, from, Math.min(7, count - from), energies);
        energies.forEach((energy, n) => expect(energy).toBe(Math.max(0, rowSum(products.values, n * pairs, weights))));
      }),
    );
  });

  test('find the extremes that TypeScript finds, in sounds of one block and of many stretches', () => {
    const together = 3;
    fc.assert(
      fc.property(sounds, (samples) => {
        const [fast, plain] = [kernels(), null].map((memory) => new ExtremesWork(memory, together).of(samples));
        // 0 and -0 are one extreme.
        const told = ({ narrow, sum }: ReturnType<ExtremesWork['of']>): unknown => [
          sum + 0,
          ...[narrow.highest, narrow.lowest, narrow.bend].map((values) => Array.from(values, (x) => x + 0)),
        ];
        expect(told(fast!)).toEqual(told(plain!));
      }),
    );
  });

  test('extremes hold every sample, what follows a block and every bend', () => {
    fc.assert(
      fc.property(sounds, (samples) => {
        const { narrow, sum } = new ExtremesWork().of(samples);
        const at = (n: number): number => samples[n] ?? 0;
        for (let n = -1; n <= samples.length; n++) {
          const block = Math.min(narrow.bend.length - 1, Math.max(0, Math.floor(n / 32)));
          const bend = Math.abs(at(n - 1) - 2 * at(n) + at(n + 1));
          expect(narrow.bend[block]! * (1 + 1e-6)).toBeGreaterThanOrEqual(bend);
          if (n < 0 || n >= samples.length) continue;
          for (const x of [at(n), at(n + 1)]) {
            expect(narrow.highest[block]).toBeGreaterThanOrEqual(x);
            expect(narrow.lowest[block]).toBeLessThanOrEqual(x);
          }
        }
        const size = samples.reduce((total, x) => total + Math.abs(x), 0);
        expect(Math.abs(sum - samples.reduce((total, x) => total + x, 0))).toBeLessThanOrEqual(1e-12 * size);
      }),
    );
  });
});

describe('without WebAssembly', () => {
  afterEach(() => {
    vi.unstubAllGlobals();
    vi.resetModules();
  });

  test('products and a changed row are the same to the last bit', async () => {
    const audios = [1, 2, 3].map((seed) => stereo(whiteNoise(0.5, seed), whiteNoise(0.5, seed + 10)));
    const changed = audios.with(1, stereo(whiteNoise(0.5, 20), whiteNoise(0.5, 21)));
    const told = ({ fine, left, right, weightedMid, weightedSide, states }: Gram): unknown => [
      ...[fine.values, left, right, weightedMid, weightedSide, ...states].map((values) => [...values]),
    ];
    const fast = finished(gramSteps(audios));
    const fastRow = finished(gramRowSteps(changed, 1, fast));
    vi.resetModules();
    vi.stubGlobal('WebAssembly', undefined);
    const { gramSteps: plainSteps } = await import('../../src/blend/gram/gram.ts');
    const { gramRowSteps: plainRowSteps } = await import('../../src/blend/gram/gram-row.ts');
    const { Kernels: none } = await import('../../src/measure/kernels/kernels.ts');
    expect(none.withRoom(ROOM)).toBeNull();
    const plain = finished(plainSteps(audios));
    expect(told(plain)).toEqual(told(fast));
    expect(told(finished(plainRowSteps(changed, 1, plain)))).toEqual(told(fastRow));
  });
});
