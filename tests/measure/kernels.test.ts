import fc from 'fast-check';
import { afterEach, describe, expect, test, vi } from 'vitest';
import { StereoKWeighting } from '../../src/measure/loudness/k-weighting.ts';
import { KERNELS } from '../../src/measure/kernels/kernels-binary.ts';
import { stereoKernel } from '../../src/measure/kernels/stereo-kernel.ts';
import { transformKernel } from '../../src/measure/kernels/transform-kernel.ts';
import { truePeakKernel } from '../../src/measure/kernels/true-peak-kernel.ts';
import { measureFully } from '../../src/measure/measure.ts';
import { plainTransformer, slopeOf } from '../../src/measure/stereo/mid-side-transform.ts';
import { SampleMeter } from '../../src/measure/sample-meter.ts';
import { plainTruePeakIn } from '../../src/measure/peaks/true-peak-search.ts';
import { compileKernels } from '../helpers/build-kernels.mjs';
import { seeded, whiteNoise } from '../helpers/signals.ts';
import { sounds } from '../helpers/sounds.ts';
import { casesOf } from '../helpers/soak.ts';

/** Two channels and how they are cut in pieces. */
const cutStereo = fc.record({
  left: sounds,
  right: sounds,
  pieces: fc.array(fc.integer({ min: 1, max: 97 }), { minLength: 1, maxLength: 12 }),
});

type Add = (channels: [Float32Array, Float32Array], from: number, count: number) => void;

/** Feeds both channels, cut to one length, piece by piece. */
function feed({ left, right, pieces }: { left: Float32Array; right: Float32Array; pieces: number[] }, add: Add): void {
  const frames = Math.min(left.length, right.length);
  for (let from = 0, n = 0; from < frames; n++) {
    const count = Math.min(pieces[n % pieces.length]!, frames - from);
    add([left, right], from, count);
    from += count;
  }
}

describe('the kernels with SIMD', () => {
  test('are what their source gives', async () => {
    expect(Buffer.from(await compileKernels()).toString('base64')).toBe(KERNELS);
  });

  test('run here', () => {
    expect(stereoKernel()).not.toBeNull();
    expect(truePeakKernel()).not.toBeNull();
    expect(transformKernel(64, slopeOf(64))).not.toBeNull();
  });

  test('weight two channels as TypeScript does, to the last bit', () => {
    fc.assert(
      fc.property(cutStereo, fc.constantFrom(8000, 44100, 48000, 192000), (sound, rate) => {
        const energies = [stereoKernel(), null].map((kernel) => {
          const filter = new StereoKWeighting(rate, kernel);
          const sums = { left: 0, right: 0, cross: 0 };
          feed(sound, ([left, right], from, count) => filter.add(left, right, from, count, sums));
          return sums;
        });
        expect(energies[0]).toEqual(energies[1]);
      }),
    );
  });

  test('sum two channels as TypeScript does, to the last bit', () => {
    fc.assert(
      fc.property(cutStereo, (sound) => {
        const [fast, plain] = [stereoKernel(), null].map((kernel) => {
          const meter = new SampleMeter(2, kernel);
          feed(sound, (channels, from, count) => {
            meter.add(channels, from, count);
            if (from % 3 === 0) meter.endSubBlock();
          });
          return { levels: meter.levels(), sums: meter.sums(), series: meter.series() };
        });
        expect(fast).toEqual(plain);
      }),
    );
  });

  test('find the true peak that TypeScript finds, at the same place', () => {
    const fast = truePeakKernel()!;
    fc.assert(
      fc.property(sounds, fc.integer({ min: -1, max: 700 }), fc.integer({ min: 0, max: 700 }), (samples, a, b) => {
        const to = Math.min(samples.length, Math.max(a, b));
        const from = Math.min(a, b, to);
        expect(fast(samples, 0, from, to)).toEqual(plainTruePeakIn(samples, 0, from, to));
      }),
      { numRuns: casesOf(300, 2000) },
    );
  });

  test('find it in sound longer than what they look at together', () => {
    const noise = whiteNoise(5, 4);
    const found = truePeakKernel()!(noise, 0, -1, noise.length)!;
    expect(found).toEqual(plainTruePeakIn(noise, 0, -1, noise.length));
    // From a floor that only a part exceeds, the same.
    expect(truePeakKernel()!(noise, found.value * 0.99, -1, noise.length)).toEqual(found);
  });

  test.each([16, 32, 64, 1024, 8192, 32768])('transform %i frames as TypeScript does', (size) => {
    const random = seeded(size);
    const [left, right] = [0, 1].map(() => Float32Array.from({ length: 3 * size }, () => 2 * random() - 1));
    const fast = transformKernel(size, slopeOf(size))!;
    const plain = plainTransformer(size);
    for (const start of [0, 7, -Math.floor(size / 3), 3 * size - 5, 4 * size]) {
      const expected = plain(left!, right!, start);
      const found = fast(left!, right!, start);
      const away = expected.reduce((most, value, n) => Math.max(most, Math.abs(value - found[n]!)), 0);
      expect(away).toBeLessThan(1e-13 * size);
      const [parts, plainParts] = [fast, plain].map(({ separate }) => {
        const out = [new Float32Array(size + 2), new Float32Array(size + 2)] as const;
        separate(...out);
        return out;
      });
      // Half of the sum or difference of two bins, rounded to single precision.
      const most = Math.max(...expected.map(Math.abs));
      for (const part of [0, 1] as const) {
        const apart = parts![part].reduce((far, x, n) => Math.max(far, Math.abs(x - plainParts![part][n]!)), 0);
        expect(apart).toBeLessThanOrEqual(1e-6 * most);
      }
    }
  });
});

describe('without WebAssembly', () => {
  afterEach(() => {
    vi.unstubAllGlobals();
    vi.resetModules();
  });

  test('everything measures the same', async () => {
    const audio = { sampleRate: 48000, channels: [whiteNoise(4, 5), whiteNoise(4, 6)] };
    const fast = measureFully(audio);
    vi.resetModules();
    vi.stubGlobal('WebAssembly', undefined);
    const { measureFully: plainMeasure } = await import('../../src/measure/measure.ts');
    const { truePeakKernel: kernel } = await import('../../src/measure/kernels/true-peak-kernel.ts');
    expect(kernel()).toBeNull();
    const plain = plainMeasure(audio);
    const numbers = (value: unknown): string =>
      JSON.stringify(value, (_, each: unknown) => (typeof each === 'number' ? Number(each.toPrecision(9)) : each));
    expect(numbers(plain.figures)).toBe(numbers(fast.figures));
    expect(numbers(plain.details)).toBe(numbers(fast.details));
  });
});
