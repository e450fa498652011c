import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { matchOf } from '../../../src/measure/match/match.ts';
import { scaled, whiteNoise } from '../../helpers/signals.ts';

/** Cosines at multiples of one over the length up to 0.35 of the rate, so that any delay is exact, and wraps around. */
const tones = (frames: number, delay: number): Float32Array => {
  const out = new Float64Array(frames);
  for (let k = 40; k < 0.35 * frames; k += 61) {
    const phase = (k * k * 0.37) % (2 * Math.PI);
    for (let n = 0; n < frames; n++) out[n]! += 0.01 * Math.cos((2 * Math.PI * k * (n - delay)) / frames + phase);
  }
  return Float32Array.from(out);
};

describe('the best match of two signals', () => {
  const frames = 65_536;
  const dry = tones(frames, 0);

  test.each([0.25, -0.4, 3.5, -12.75])('finds a lag of %f samples to a hundredth, the gain and little left', (lag) => {
    const found = matchOf(dry, scaled(tones(frames, lag), 0.5))!;
    expect(Math.abs(found.exactLagSamples - lag)).toBeLessThan(0.01);
    expect(found.gainDb).toBeCloseTo(-6.0206, 1);
    expect(found.residualDb).toBeLessThan(-30);
    expect(found.polarity).toBe(1);
  });

  test('of a copy at any gain and polarity is that, with nothing left', () => {
    const noise = whiteNoise(2, 1);
    fc.assert(
      fc.property(fc.double({ min: -24, max: 24, noNaN: true }), fc.boolean(), (db, isTurned) => {
        const gain = 10 ** (db / 20) * (isTurned ? -1 : 1);
        const found = matchOf(noise, scaled(noise, gain))!;
        expect(found.polarity).toBe(isTurned ? -1 : 1);
        expect(found.gainDb).toBeCloseTo(db, 3);
        expect(Math.abs(found.exactLagSamples)).toBeLessThan(1e-3);
        expect(found.residualDb).toBeLessThan(-80);
      }),
      { numRuns: 6 },
    );
  });

  test('leaves what the second has of its own: noise 20 dB down leaves -20 dB', () => {
    const noise = whiteNoise(4, 2);
    const other = whiteNoise(4, 3, 0.01);
    const found = matchOf(
      noise,
      noise.map((x, n) => x + other[n]!),
    )!;
    // 20.04 dB: the noise over signal and noise.
    expect(Math.abs(found.residualDb + 20.0432)).toBeLessThan(0.2);
    expect(found.gainDb).toBeCloseTo(0, 1);
  });

  test('does not exist for strangers', () => {
    expect(matchOf(whiteNoise(2, 4), whiteNoise(2, 5))).toBeNull();
  });
});
