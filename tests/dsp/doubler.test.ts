import { describe, expect, it } from 'vitest';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { both, run, stepOf, through } from '../helpers/chains.ts';
import { Chain } from '../../src/dsp/core/chain.ts';
import { motionOf } from '../helpers/moving-delay.ts';
import { sampleOf } from '../helpers/soak.ts';
import { whiteNoise } from '../helpers/signals.ts';

const doubled = (settings: Settings) => [stepOf('doubler', { mix: 100, ...settings })];
const powerOf = (samples: Float64Array, from = 0): number =>
  samples.subarray(from).reduce((sum, x) => sum + x * x, 0) / (samples.length - from);
const dB = (ratio: number): number => 10 * Math.log10(ratio);
const one = { copies: '1', spread: 0, levelDrift: 0 };

describe('doubler', () => {
  it.each(sampleOf([3, 12, 30], 1))(
    'is never out of tune by more than its drift of %d cents, and usually by a quarter of it',
    (drift) => {
      const { cents } = motionOf(doubled({ ...one, drift }), { frames: 12 * 48000, span: 240 });
      const most = cents.reduce((peak, x) => Math.max(peak, Math.abs(x)), 0);
      const usual = Math.sqrt(cents.reduce((sum, x) => sum + x * x, 0) / cents.length);
      expect(most).toBeLessThan(drift);
      expect(most).toBeGreaterThan(0.4 * drift);
      expect(usual / drift).toBeGreaterThan(0.2);
      expect(usual / drift).toBeLessThan(0.45);
    },
  );

  it('transposes nothing: over 20 seconds its pitch is that of the sound, and nothing is lost or cut in', () => {
    const { cents, gains } = motionOf(doubled({ ...one, drift: 30 }), { frames: 20 * 48000, span: 4800 });
    // 14 ms is as far as it can get from where it began: 1.2 cents over 20 s.
    expect(Math.abs(cents.reduce((sum, x) => sum + x, 0) / cents.length)).toBeLessThan(1.2);
    // A grain or a splice would show as a dip; this is the interpolation alone.
    expect(Math.min(...sparse(gains))).toBeGreaterThan(0.999);
    expect(Math.max(...sparse(gains))).toBeLessThan(1.001);
  });

  it('without drift is an exact copy', () => {
    const input = both(Float64Array.from(whiteNoise(0.2, 5)));
    const { left } = through(doubled({ ...one, drift: 0, delay: 10 }), input);
    expect(left.subarray(480)).toEqual(input.left.subarray(0, left.length - 480));
  });

  it('keeps each copy within its level drift, and takes all of it in time', () => {
    const { gains } = motionOf(doubled({ ...one, drift: 0, levelDrift: 6 }), { frames: 20 * 48000 });
    const levels = sparse(gains).map((gain) => 20 * Math.log10(gain));
    expect(Math.max(...levels)).toBeLessThan(6);
    expect(Math.min(...levels)).toBeGreaterThan(-6);
    expect(Math.max(...levels) - Math.min(...levels)).toBeGreaterThan(6);
  });

  it('gives each copy a way of its own', () => {
    const sound = both(Float64Array.from(whiteNoise(5, 8)));
    const { left, right } = through(doubled({ copies: '2', delay: 20, drift: 20 }), sound);
    const alike = left.reduce((sum, x, n) => sum + x * right[n]!, 0) / left.length;
    expect(Math.abs(alike) / Math.sqrt(powerOf(left) * powerOf(right))).toBeLessThan(0.01);
  });

  // cos^2 + k sin^2 of the equal-power mix, where the fold keeps a share k of the copies: 1/2, 2/3, 0.736 at full spread.
  const losses: [string, number, number][] = [
    ['2', 100, -3.0103],
    ['2', 50, -1.2494],
    ['2', 20, -0.2126],
    ['3', 100, -1.7609],
    ['4', 100, -1.3328],
  ];
  it.each(sampleOf(losses, 3))(
    'loses on average over frequency, folded to mono: %s copies, mix %d: %f dB',
    (copies, mix, loss) => {
      const sound = both(Float64Array.from(whiteNoise(5, 6)));
      const { left, right } = through([stepOf('doubler', { copies, mix, levelDrift: 0, delay: 20 })], sound);
      const fold = left.map((x, n) => (x + right[n]!) / 2);
      const sides = (powerOf(left, 9600) + powerOf(right, 9600)) / 2;
      expect(Math.abs(dB(powerOf(fold, 9600) / sides) - loss)).toBeLessThan(0.1);
    },
  );

  it('plays the same takes each time', () => {
    const sound = both(Float64Array.from(whiteNoise(0.5, 9)));
    const steps = doubled({ copies: '4' });
    const chain = new Chain(steps, 48000, 128);
    const first = run(chain, sound);
    chain.reset();
    expect(run(chain, sound, [77])).toEqual(first);
  });
});

/** Every 97th: enough of a long line, and not too many to spread. */
function sparse(line: Float64Array): readonly number[] {
  return [...line].filter((_, n) => n % 97 === 0);
}
