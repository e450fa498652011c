import { describe, expect, it } from 'vitest';
import { COEFFICIENTS, designAllPass } from '../../src/dsp/filters/biquad.ts';
import { Crossover, lowPartGain } from '../../src/dsp/filters/crossover.ts';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { CONTROL_FRAMES, type KeySignal } from '../../src/dsp/core/processor.ts';
import { correlationOf } from '../../src/measure/stereo/stereo.ts';
import { stereoSumsOf } from '../helpers/meters.ts';
import { spectrumOf } from '../../src/measure/spectrum.ts';
import { thirdOctavesBelow } from '../../src/measure/third-octaves.ts';
import { both, impulse, steady, stepOf, through, tone } from '../helpers/chains.ts';
import { fourier, pinkNoise } from '../helpers/signals.ts';
import { levelAt } from '../helpers/tones.ts';

const db = (ratio: number): number => 20 * Math.log10(ratio);

describe('panning', () => {
  const placed = (settings: Settings, left = 1, right = 1): readonly [number, number] => {
    const input = { left: steady(left, 64).left, right: steady(right, 64).left };
    const output = through([stepOf('panner', settings)], input);
    return [output.left[63]!, output.right[63]!];
  };

  // Equal-power law cos / sin (x pi / 2) for x = 0..1 (Web Audio API specification, mono): centre 0.707107, a quarter of
  // the way 0.923880 / 0.382683. Here levelled so that the centre is 0 dB: times the square root of 2.
  it.each([
    [-100, 1, 0],
    [-50, 0.923879533, 0.382683432],
    [0, 0.707106781, 0.707106781],
    [50, 0.382683432, 0.923879533],
  ])('a mono sound at %d %%: equal power', (pan, left, right) => {
    const [l, r] = placed({ pan, law: 'mono' });
    expect(l / Math.SQRT2).toBeCloseTo(left, 9);
    expect(r / Math.SQRT2).toBeCloseTo(right, 9);
  });

  it('a centred mono sound folds 3.0103 dB louder than one hard to a side', () => {
    const fold = (pan: number): number => db(placed({ pan, law: 'mono' }).reduce((sum, x) => sum + x / 2, 0));
    expect(fold(0) - fold(-100)).toBeCloseTo(3.0103, 4);
  });

  // The same specification's law for two channels, run in a browser: (1, 1) at -0.5.
  it('a stereo sound half left: 1.707107 and 0.707107', () => {
    const [l, r] = placed({ pan: -50 });
    expect(l).toBeCloseTo(1.707107, 6);
    expect(r).toBeCloseTo(0.707107, 6);
  });
});

describe('all-pass of 1 kHz, Q 1/sqrt 2 (Audio EQ Cookbook, W3C Group Note 2021, at 48 kHz)', () => {
  it('has the published coefficients', () => {
    const into = new Float64Array(COEFFICIENTS);
    designAllPass(into, (2 * Math.PI * 1000) / 48000, Math.SQRT1_2);
    const published = [0.831005589347, -1.815341082705, 1, -1.815341082705, 0.831005589347];
    published.forEach((value, i) => expect(into[i]).toBeCloseTo(value, 11));
  });
});

describe('crossover of fourth order (Linkwitz and Riley 1976) at 1 kHz, 48 kHz', () => {
  const FRAMES = 8192;
  const crossover = new Crossover(1000, 48000);
  const high = new Float64Array(FRAMES);
  const low = new Float64Array(FRAMES);
  high[0] = 1;
  for (let from = 0; from < FRAMES; from += CONTROL_FRAMES) {
    const part = (signal: Float64Array) => signal.subarray(from, from + CONTROL_FRAMES);
    crossover.control();
    crossover.split(part(high), new Float64Array(CONTROL_FRAMES), part(low), new Float64Array(CONTROL_FRAMES), 64, 0);
  }
  const whole = high.map((x, n) => x + low[n]!);
  /** Level of an impulse response at `hz`, dB, and its phase, degrees. */
  const at = (response: Float64Array, hz: number): readonly [number, number] => {
    const angle = (2 * Math.PI * hz) / 48000;
    const re = response.reduce((sum, x, n) => sum + x * Math.cos(angle * n), 0);
    const im = response.reduce((sum, x, n) => sum - x * Math.sin(angle * n), 0);
    return [db(Math.hypot(re, im)), (Math.atan2(im, re) * 180) / Math.PI];
  };

  // Butterworth of second order squared, computed with scipy.
  it.each([
    [500, -0.5244, -24.644],
    [1000, -6.0206, -6.0206],
    [2000, -24.7498, -0.5179],
  ])('%d Hz: low part %f dB, high part %f dB', (hz, lowDb, highDb) => {
    expect(at(low, hz)[0]).toBeCloseTo(lowDb, 4);
    expect(at(high, hz)[0]).toBeCloseTo(highDb, 4);
    expect(db(lowPartGain(1000, hz, 48000))).toBeCloseTo(lowDb, 4);
    expect(db(1 - lowPartGain(1000, hz, 48000))).toBeCloseTo(highDb, 4);
  });

  it('both parts are in phase everywhere, and turned by 180 degrees at the corner', () => {
    for (const hz of [100, 700, 1500, 6000]) expect(at(low, hz)[1] - at(high, hz)[1]).toBeCloseTo(0, 4);
    expect(Math.abs(at(whole, 1000)[1])).toBeCloseTo(180, 6);
  });

  it('the sum is as loud as the input at every frequency, within 1e-10 dB', () => {
    for (let hz = 20; hz < 24000; hz *= 1.3) expect(Math.abs(at(whole, hz)[0])).toBeLessThan(1e-10);
  });
});

describe('decorrelation of a mono sound', () => {
  const frames = 2 ** 17;
  /** Pink noise above 300 Hz: the decorrelator leaves lows alone. */
  const source = (() => {
    const re = Float64Array.from(pinkNoise(frames / 48000, 4));
    const im = new Float64Array(frames);
    fourier(re, im);
    for (let bin = 0; bin < frames; bin++)
      if (Math.min(bin, frames - bin) * (48000 / frames) < 300) re[bin] = im[bin] = 0;
    fourier(im, re);
    return both(re.map((x) => x / frames));
  })();
  const figures = ({ left, right }: KeySignal) => {
    const sums = stereoSumsOf(Float32Array.from(left), Float32Array.from(right));
    return {
      correlation: correlationOf(sums)!,
      sideToMidDb: 10 * Math.log10(sums.side / sums.mid),
      foldDb: 10 * Math.log10((2 * sums.mid) / (sums.left + sums.right)),
    };
  };

  // For channels of one level: fold against one channel 10 log10((1 + rho) / 2), side to mid 10 log10((1 - rho) / (1 + rho)).
  it.each([
    [0.5, -1.2494, -4.7712],
    [0, -3.0103, 0],
  ])('correlation %f: fold %f dB, side to mid %f dB', (rho, foldDb, sideToMidDb) => {
    const decorrelation = 100 * Math.sqrt((1 - rho) / (1 + rho));
    const found = figures(through([stepOf('widener', { decorrelation })], source));
    expect(Math.abs(found.correlation - rho)).toBeLessThan(0.01);
    expect(Math.abs(found.foldDb - foldDb)).toBeLessThan(0.03);
    expect(Math.abs(found.sideToMidDb - sideToMidDb)).toBeLessThan(0.03);
  });

  // By construction: the copy is an odd sequence, which stands a quarter of a turn from the sound at every frequency.
  it.each([36, 100])(
    'at %d %% no partial leans to a side: left and right have one level at every frequency',
    (decorrelation) => {
      const length = 2 ** 15;
      const { left, right } = through([stepOf('widener', { decorrelation })], impulse(length));
      const levels = (response: Float64Array): Float64Array => {
        const re = response.slice();
        const im = new Float64Array(length);
        fourier(re, im);
        return re.map((x, bin) => 10 * Math.log10(x * x + im[bin]! ** 2)).slice(0, length / 2);
      };
      const [l, r] = [levels(left), levels(right)];
      l.forEach((db, bin) => expect(Math.abs(db - r[bin]!), `${(bin * 48000) / length} Hz`).toBeLessThan(1e-6));
    },
  );

  it('spreads a click over less than 6 ms to either side, each part at least 10 dB below it', () => {
    const { left, right } = through([stepOf('widener', { decorrelation: 100 })], impulse(4000, 1000));
    const middle = left.indexOf(1);
    for (const side of [left, right])
      side.forEach((x, n) => {
        if (n === middle || x === 0) return;
        expect(Math.abs(n - middle) / 48).toBeLessThan(6);
        expect(Math.abs(x)).toBeLessThan(10 ** (-10 / 20));
      });
  });

  it('leans to neither side: in every third of an octave from 400 Hz on both are as loud within 1.7 dB', () => {
    const { left, right } = through([stepOf('widener', { decorrelation: 100 })], source);
    const bands = (side: Float64Array) =>
      spectrumOf({ sampleRate: 48000, channels: [Float32Array.from(side)] }).level.bands;
    const [l, r] = [bands(left), bands(right)];
    thirdOctavesBelow(48000).forEach(({ hz }, band) => {
      if (hz < 390 || hz > 17000) return;
      expect(Math.abs(10 * Math.log10(l[band]! / r[band]!)), `${hz} Hz`).toBeLessThan(1.7);
    });
  });
});

describe('one side late by 10 ms, folded to mono: dips at odd multiples of 50 Hz, -3.0103 dB at 1 / (4 delay)', () => {
  const fold = (hz: number): number => {
    const { left, right } = through([stepOf('widener', { delay: 10 })], tone(hz, 52800));
    return levelAt(left.map((x, n) => (x + right[n]!) / 2).subarray(4800), hz);
  };
  it.each([50, 150, 950])('%d Hz is gone', (hz) => expect(fold(hz)).toBeLessThan(-150));
  it.each([100, 200, 1000])('%d Hz is whole', (hz) => expect(fold(hz)).toBeCloseTo(0, 6));
  it.each([25, 75, 125])('%d Hz is 3.0103 dB down', (hz) => expect(fold(hz)).toBeCloseTo(-3.0103, 4));
});
