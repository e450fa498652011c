import { describe, expect, it } from 'vitest';
import { Hysteresis, hysteresisMakeUp } from '../../src/dsp/distortion/hysteresis.ts';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { CONTROL_FRAMES } from '../../src/dsp/core/processor.ts';
import { both, stepOf, through } from '../helpers/chains.ts';
import { falseTonesDb } from '../helpers/harmonics.ts';
import { motionOf } from '../helpers/moving-delay.ts';
import { fourier } from '../helpers/signals.ts';

/**
 * Sends a field straight through the loop of one channel at a factor of 1; its level compensation undone. Each value is the
 * mean on the way from the sample before.
 */
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
    // Simpson's rule over steps of 1/128: exact to 1e-9.
    const mean = (from: number, to: number): number =>
      (langevin(3 * from) + 4 * langevin((3 * (from + to)) / 2) + langevin(3 * to)) / 6;
    magnetise(field, 0).forEach((m, n) => {
      if (n > 0) expect(Math.abs(m - mean(field[n - 1]!, field[n]!))).toBeLessThan(1e-5);
    });
  });

  // dM/dH = (Man - M) / k where the field moves towards it, by an exponential midpoint rule in steps 64 times finer (stable
  // where k is small). k is 0.1 for strong fields and falls with the fourth power of the crest c of Man, which is
  // forgotten in 0.1 s: 0.1 c^4 / (c^4 + 0.25^4). Means from step to step.
  const solved = (peak: number, turns: number, steps: number): Float64Array => {
    const fine = 64;
    const out = new Float64Array(turns * steps);
    let m = 0;
    let crest = 0;
    for (let n = 1; n < out.length; n++) {
      let sum = 0;
      for (let f = 0; f < fine; f++) {
        const before = m;
        const at = (part: number): number => peak * Math.sin((2 * Math.PI * (n - 1 + (f + part) / fine)) / steps);
        const way = at(1) - at(0);
        crest = Math.max(Math.abs(langevin(3 * at(1))), crest * Math.exp(-1 / (0.1 * 48000 * fine)));
        const k = (0.1 * crest ** 4) / (crest ** 4 + 0.25 ** 4);
        const gap = langevin(3 * at(0.5)) - m;
        if (way * gap > 0) m += gap * (1 - Math.exp(-Math.abs(way) / k));
        sum += (before + m) / 2;
      }
      out[n] = sum / fine;
    }
    return out;
  };

  // From rest at a peak of 4 the crest, and k with it, rises within a step: there the steps are shorter.
  it.each([
    [0.1, 256],
    [0.25, 256],
    [1, 256],
    [4, 1024],
  ])('follows the differential equation at peak %f, %d steps a turn, within 0.2 %%', (peak, steps) => {
    const found = magnetise(sine(peak, 3, steps), 1);
    const expected = solved(peak, 3, steps);
    const most = expected.reduce((top, x) => Math.max(top, Math.abs(x)), 0);
    found.forEach((m, n) => expect(Math.abs(m - expected[n]!)).toBeLessThan(2e-3 * most));
  });

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

  it('closes: one turn is like the next, and inverted in its other half', () => {
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
  const re = through([stepOf('tape', { mix: 100, ...settings })], both(input)).left.slice(-65536);
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

// Biased tape magnetises along the anhysteretic curve (Westmijze 1953, from memory): the lag adds nothing to quiet sound.
describe('quiet sound', () => {
  // -80 dB at -40 dBFS is the bound of the issue; 0.15 A^2 of the ideal curve lies at -96 dB there.
  it.each([20, 40, 60])(
    'is clean with a hysteresis of %d %%: third harmonic below -80 dB from -40 dBFS down',
    (hysteresis) => {
      for (const level of [-40, -50, -60]) {
        const h = spectrum({ hysteresis, emphasis: 0, bump: 0 }, 1361, 10 ** (level / 20));
        expect(db(h[3 * 1361]! / h[1361]!)).toBeLessThan(-80);
      }
    },
  );

  it('is rough when it is loud, the more hysteresis the more', () => {
    const third = (hysteresis: number): number => {
      const h = spectrum({ hysteresis, emphasis: 0, bump: 0 }, 1361, 0.25);
      return db(h[3 * 1361]! / h[1361]!);
    };
    expect(third(20)).toBeGreaterThan(third(0) + 4);
    expect(third(60)).toBeGreaterThan(third(20) + 4);
  });
});

describe('false tones of highs driven hard', () => {
  // Half of full scale at 18 dB of drive, the field at which the plain curve threw back -36 dB.
  it.each([
    ['4x', -65],
    ['8x', -90],
  ])('10 kHz at %s: below %d dB', (oversampling, bound) => {
    expect(falseTonesDb('tape', { mix: 100, drive: 18, oversampling }, 9999, 0.5)).toBeLessThan(bound);
  });
});

describe('wow and flutter', () => {
  it.each([
    [{ wow: 0.5 }, 0.005],
    [{ flutter: 0.3 }, 0.003],
    [{ wow: 0.2, flutter: 0.1 }, 0.003],
  ])('%o: pitch moves both ways and never further than that', (settings, most) => {
    const { cents } = motionOf([stepOf('tape', { mix: 100, hysteresis: 0, drive: -12, ...settings })], {
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
