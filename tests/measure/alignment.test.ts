import { describe, expect, it } from 'vitest';
import { alignmentOf } from '../../src/measure/alignment.ts';

/** Seeded white noise, one channel. */
const noise = (frames: number, seed: number): Float32Array => {
  let state = seed;
  return Float32Array.from({ length: frames }, () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 31 - 1;
  });
};

const later = (signal: Float32Array, samples: number): Float32Array => signal.map((_, n) => signal[n - samples] ?? 0);

describe('alignment of two signals', () => {
  const dry = noise(96_000, 7);

  it.each([0, 1, 37, 128, 2205, -300])('finds a copy that is %i samples late', (lag) => {
    const found = alignmentOf(dry, later(dry, lag));
    expect(found).toMatchObject({ lagSamples: lag, polarity: 1 });
  });

  it('finds a copy upside down', () => {
    expect(
      alignmentOf(
        dry,
        later(dry, 12).map((x) => -0.3 * x),
      ),
    ).toMatchObject({ lagSamples: 12, polarity: -1 });
  });

  it('finds no lag through a one-pole low cut and saturation, which shift phase but not time', () => {
    let low = 0;
    const coloured = dry.map((x) => Math.tanh(2 * (x - (low += 0.05 * (x - low)))));
    expect(alignmentOf(dry, coloured)).toMatchObject({ lagSamples: 0, polarity: 1 });
  });

  it('finds no lag in what a low pass has turned, and one sample in what is a sample late', () => {
    let state = 0;
    const dull = dry.map((x) => (state += 0.3 * (x - state)));
    expect(alignmentOf(dry, dull)).toMatchObject({ lagSamples: 0 });
    expect(alignmentOf(dry, later(dull, 3))?.lagSamples).toBeGreaterThanOrEqual(3);
  });

  it('says nothing of strangers, and nothing of silence', () => {
    expect(alignmentOf(dry, noise(96_000, 99))).toBeNull();
    expect(alignmentOf(dry, new Float32Array(96_000))).toBeNull();
  });
});
