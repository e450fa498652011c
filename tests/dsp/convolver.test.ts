import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Convolver } from '../../src/dsp/reverb/convolver.ts';
import { RealTransform } from '../../src/dsp/spectral/real-transform.ts';
import { noise } from '../helpers/chains.ts';
import { fourier } from '../helpers/signals.ts';

/** Runs a signal through, in blocks of these lengths (repeated), cut where control blocks of 64 end. */
function played(convolver: Convolver, input: Float64Array, blocks: readonly number[] = [64]): Float64Array {
  const signal = input.slice();
  for (let at = 0, n = 0; at < signal.length; n++) {
    const stop = Math.min(signal.length, at + blocks[n % blocks.length]!);
    while (at < stop) {
      const end = Math.min(stop, at - (at % 64) + 64);
      convolver.process(signal.subarray(at, end), end - at, at % 64);
      at = end;
    }
  }
  return signal;
}

/** The convolution at frame `n`, as its definition says. */
const direct = (signal: Float64Array, response: Float64Array, n: number): number => {
  let sum = 0;
  for (let k = Math.max(0, n - signal.length + 1); k <= Math.min(n, response.length - 1); k++)
    sum += response[k]! * signal[n - k]!;
  return sum;
};

const most = (samples: Float64Array): number => samples.reduce((peak, x) => Math.max(peak, Math.abs(x)), 0);

describe('convolver', () => {
  // Around each change of partition size, and far beyond the last.
  it.each([1, 2, 63, 64, 65, 127, 128, 129, 511, 512, 513, 1024, 4095, 4096, 4097, 8191, 8193, 30000])(
    'is the direct sum, with a response of %d samples',
    (length) => {
      const response = noise(length, length).left;
      const input = noise(40000, 3).left;
      const output = played(new Convolver(response), input);
      for (let n = 0; n < 40000; n += n < 1000 ? 1 : 311)
        expect(Math.abs(output[n]! - direct(input, response, n))).toBeLessThan(1e-11);
    },
  );

  it('gives the response itself, at once, for one sample', () => {
    const response = noise(10000, 4).left;
    const output = played(
      new Convolver(response),
      Float64Array.from({ length: 12000 }, (_, n) => (n === 0 ? 1 : 0)),
    );
    for (let n = 0; n < 12000; n++) expect(Math.abs(output[n]! - (response[n] ?? 0))).toBeLessThan(1e-14);
    // The first taps are not even rounded.
    expect(output.subarray(0, 64)).toEqual(response.subarray(0, 64));
  });

  it('with a response of one sample is a gain', () => {
    const input = noise(5000, 2).left;
    expect(played(new Convolver([0.5]), input)).toEqual(input.map((x) => 0.5 * x));
  });

  it('gives the same samples whatever the block length, and after being cleared as when new', () => {
    const response = noise(9000, 5).left;
    const input = noise(20000, 6).left;
    const whole = played(new Convolver(response), input);
    const used = new Convolver(response);
    for (const blocks of [[1], [7, 100], [1000, 3]]) {
      expect(played(used, input, blocks)).toEqual(whole);
      used.clear();
    }
  });

  it('is linear and does not depend on when', () => {
    const response = noise(700, 8).left;
    const of = (input: Float64Array): Float64Array => played(new Convolver(response), input);
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1500 }), fc.double({ min: -4, max: 4, noNaN: true }), (late, gain) => {
        const a = noise(3000, 9).left;
        const b = new Float64Array(3000);
        b.set(a.subarray(0, 3000 - late), late);
        const [first, second, both] = [of(a), of(b), of(a.map((x, n) => x + gain * b[n]!))];
        const added = both.map((x, n) => x - first[n]! - gain * second[n]!);
        const shifted = second.subarray(late).map((x, n) => x - first[n]!);
        return most(added) < 1e-11 && most(shifted) < 1e-11;
      }),
      { numRuns: 20 },
    );
  });

  it('falls silent, exactly, when all that went in has gone, and says so', () => {
    const convolver = new Convolver(noise(5000, 1).left);
    expect(convolver.silent).toBe(true);
    played(convolver, noise(6400, 2).left);
    expect(convolver.silent).toBe(false);
    const rest = played(convolver, new Float64Array(64 * 400));
    expect(convolver.silent).toBe(true);
    expect(most(rest.subarray(5000 + 2 * 4096))).toBe(0);
    expect(most(rest.subarray(5000))).toBeLessThan(1e-11);
  });

  it('may sleep through silence and wake in the middle of a control block', () => {
    const response = noise(5000, 1).left;
    const input = new Float64Array(64 * 100);
    input.set(noise(64 * 100 - 40, 7).left, 40);
    const convolver = new Convolver(response);
    played(convolver, noise(6400, 2).left);
    played(convolver, new Float64Array(64 * 400));
    const output = new Float64Array(input);
    convolver.process(output.subarray(40, 64), 24, 40);
    output.set(played(convolver, input.slice(64)), 64);
    for (let n = 0; n < output.length; n += 7)
      expect(Math.abs(output[n]! - direct(input, response, n))).toBeLessThan(1e-11);
  });
});

describe('real transform', () => {
  it.each([8, 16, 128, 1024, 8192])('of %d samples is the Fourier sum, and comes back', (size) => {
    const signal = noise(size, size).left;
    const [re, im] = [signal.slice(), new Float64Array(size)];
    fourier(re, im);
    const transform = new RealTransform(size);
    const spectrum = new Float64Array(size + 7);
    transform.forward(signal, spectrum, 5);
    for (let bin = 0; bin <= size / 2; bin++) {
      expect(Math.abs(spectrum[5 + 2 * bin]! - re[bin]!)).toBeLessThan(1e-12 * size);
      expect(Math.abs(spectrum[6 + 2 * bin]! - im[bin]!)).toBeLessThan(1e-12 * size);
    }
    const back = new Float64Array(size);
    transform.inverse(spectrum.slice(5), back);
    expect(most(back.map((x, n) => x - signal[n]!))).toBeLessThan(1e-14);
  });
});
