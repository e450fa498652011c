import { describe, expect, it } from 'vitest';
import { Hysteresis, hysteresisMakeUp } from '../../src/dsp/distortion/hysteresis.ts';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { CONTROL_FRAMES } from '../../src/dsp/core/processor.ts';
import { both, stepOf, through } from '../helpers/chains.ts';
import { motionOf } from '../helpers/moving-delay.ts';
import { fourier } from '../helpers/signals.ts';

/** Sends a field straight through the loop of one channel at a factor of 1; its level compensation undone. */
function magnetise(field: Float64Array, lag: number): Float64Array {
  const loop = new Hysteresis(0, lag, 1, 48000);
  const samples = field.slice();
  for (let from = 0; from < samples.length; from += CONTROL_FRAMES) {
    const block = samples.subarray(from, from + CONTROL_FRAMES);
    loop.control();
    loop.process(block, block.length, 0, 0);
  }
  const makeUp = hysteresisMakeUp(1, lag);
  return samples.map((x) => x / makeUp);
}

const sine = (peak: number, turns: number, steps = 4096): Float64Array =>
  Float64Array.from({ length: turns * steps }, (_, n) => peak * Math.sin((2 * Math.PI * n) / steps));
const langevin = (q: number): number => (q === 0 ? 0 : 1 / Math.tanh(q) - 1 / q);

describe('hysteresis (Jiles and Atherton, 1986; for tape: Chowdhury, DAFx 2019)', () => {
  it('without lag it is the Langevin function coth q - 1 / q with q = 3 h', () => {
    const field = Float64Array.from({ length: 4096 }, (_, n) => (n - 2048) / 128);
    magnetise(field, 0).forEach((m, n) => expect(Math.abs(m - langevin(3 * field[n]!))).toBeLessThan(1e-5));
  });

  // dM/dH = (Man - M) / k where the field moves towards it, k = 0.1: a fourth-order Runge-Kutta solution in fine steps.
  const solved = (peak: number, turns: number, steps: number): Float64Array => {
    const fine = 32;
    const slope = (h: number, m: number, direction: number): number =>
      Math.max(0, (direction * (langevin(3 * h) - m)) / 0.1);
    const out = new Float64Array(turns * steps);
    let m = 0;
    for (let n = 1; n < out.length; n++) {
      for (let f = 0; f < fine; f++) {
        const at = (part: number): number => peak * Math.sin((2 * Math.PI * (n - 1 + (f + part) / fine)) / steps);
        const [h0, h1, h2] = [at(0), at(0.5), at(1)];
        const way = h2 - h0;
        const side = Math.sign(way);
        const k1 = slope(h0, m, side);
        const k2 = slope(h1, m + (k1 * way) / 2, side);
        const k3 = slope(h1, m + (k2 * way) / 2, side);
        const k4 = slope(h2, m + k3 * way, side);
        m += (way * (k1 + 2 * k2 + 2 * k3 + k4)) / 6;
      }
      out[n] = m;
    }
    return out;
  };

  it.each([0.05, 0.25, 1, 4])(
    'follows the differential equation at peak %f, 256 steps a turn, within 0.2 %',
    (peak) => {
      const found = magnetise(sine(peak, 3, 256), 1);
      const expected = solved(peak, 3, 256);
      const most = expected.reduce((top, x) => Math.max(top, Math.abs(x)), 0);
      found.forEach((m, n) => expect(Math.abs(m - expected[n]!)).toBeLessThan(2e-3 * most));
    },
  );

  it('keeps a remanence after a strong field, goes through 0 at a coercive field, and turns one way: it loses energy', () => {
    const steps = 4096;
    const field = sine(4, 2, steps);
    const m = magnetise(field, 1);
    // From the crest of the second turn down.
    const crest = steps + steps / 4;
    expect(m[crest + steps / 4]!).toBeGreaterThan(0.05);
    expect(m[crest + steps / 4]!).toBeLessThan(0.1);
    const zero = m.findIndex((x, n) => n > crest && x < 0);
    expect(field[zero]!).toBeLessThan(-0.05);
    // A lag behind a straight line of slope 1 is the coercivity, 0.1; the first sample past 0 is up to one step further.
    expect(field[zero]!).toBeGreaterThan(-0.1 - (4 * 2 * Math.PI) / steps);
    let area = 0;
    for (let n = steps; n < 2 * steps; n++) area += m[n]! * (field[n]! - field[n - 1]!);
    expect(area).toBeLessThan(0);
  });

  it('closes: one turn is like the next, and turned upside down in its other half', () => {
    const steps = 4096;
    const m = magnetise(sine(1, 4, steps), 0.5);
    for (let n = 2 * steps; n < 3 * steps; n += 7) {
      expect(Math.abs(m[n + steps]! - m[n]!)).toBeLessThan(1e-6);
      expect(Math.abs(m[n + steps / 2]! + m[n]!)).toBeLessThan(1e-6);
    }
  });
});

/** Amplitudes by bin of the last 65536 of a steady sine of `cycles` in 65536 frames. */
function spectrum(settings: Settings, cycles: number, peak: number): Float64Array {
  const input = Float64Array.from({ length: 98304 }, (_, n) => peak * Math.sin((2 * Math.PI * cycles * n) / 65536));
  const re = through([stepOf('tape', { amount: 100, ...settings })], both(input)).left.slice(-65536);
  const im = new Float64Array(65536);
  fourier(re, im);
  return re.map((x, bin) => Math.hypot(x, im[bin]!) / 32768);
}
const db = (ratio: number): number => 20 * Math.log10(ratio);

describe('harmonics of tape', () => {
  // L(3 x) = x - 0.6 x^3 + ..: H3 / H1 = 0.15 A^2 for small peaks A.
  it.each([0.02, 0.05])('third harmonic of a soft sine of peak %f: 0.15 A^2, without lag and emphasis', (peak) => {
    const h = spectrum({ hysteresis: 0, emphasis: 0, bump: 0, speed: '30 in/s' }, 1361, peak);
    expect(db(h[3 * 1361]! / h[1361]!)).toBeCloseTo(db(0.15 * peak * peak), 1);
    expect(db(h[2 * 1361]! / h[1361]!)).toBeLessThan(-140);
  });

  it.each([
    ['4x', 1249, -95],
    ['4x', 4999, -75],
    ['8x', 4999, -90],
  ])(
    'at %s little of a %d Hz sine of -12 dBFS at 12 dB of drive is thrown back: below %d dB',
    (oversampling, hz, bound) => {
      const cycles = 2 * Math.round((hz * 65536) / 48000 / 2) + 1;
      const h = spectrum({ drive: 12, oversampling }, cycles, 0.25);
      let [harmonic, other] = [0, 0];
      // From 10 Hz on: what the removal of the direct component still has of the start lies below.
      for (let bin = 14; bin <= 27306; bin++) {
        if (bin % cycles === 0) harmonic += h[bin]! ** 2;
        else other += h[bin]! ** 2;
      }
      expect(10 * Math.log10(other / harmonic)).toBeLessThan(bound);
    },
  );
});

describe('wow and flutter', () => {
  it.each([
    [{ wow: 0.5 }, 0.005],
    [{ flutter: 0.3 }, 0.003],
    [{ wow: 0.2, flutter: 0.1 }, 0.003],
  ])('%o: pitch moves both ways and never further than that', (settings, most) => {
    const { cents } = motionOf([stepOf('tape', { amount: 100, hysteresis: 0, drive: -12, ...settings })], {
      frames: 384000,
    });
    const bound = 1200 * Math.log2(1 + most);
    const high = cents.reduce((top, x) => Math.max(top, x), 0);
    const low = cents.reduce((bottom, x) => Math.min(bottom, x), 0);
    expect(high).toBeLessThan(1.02 * bound);
    expect(low).toBeGreaterThan(-1.02 * bound);
    expect(high).toBeGreaterThan(0.2 * bound);
    expect(low).toBeLessThan(-0.2 * bound);
  });
});
