import { describe, expect, test } from 'vitest';
import { decibelsOf } from '../../src/audio/decibels.ts';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { truePeakOf } from '../../src/measure/peaks/true-peak.ts';
import { both, noise, peakOf, stepOf, through, tone } from '../helpers/chains.ts';
import { idealPeak, oversampledPeak } from '../helpers/oversampled-peak.ts';
import { seeded } from '../helpers/signals.ts';

// No standard defines the overshoot of a limiter. Here it is the greatest true peak of the output, read at 16 times the
// rate or more, less the ceiling; and beside it the greatest sample less the ceiling, which must not be above 0.

const FRAMES = 9600;
/** Allowed to the 16x meters, dB. */
const ALLOWED = 0.05;

const made = (sample: (n: number) => number): Float64Array =>
  Float64Array.from({ length: FRAMES }, (_, n) => sample(n));
const random = seeded(4);

/** Decaying bursts of a falling tone and of noise: as sharp as drums are. */
const drums = made((n) => {
  const since = (n % 3000) / 48000;
  const skin = Math.exp(-since * 25) * Math.sin(2 * Math.PI * (55 * since + 3 * (1 - Math.exp(-since * 60))));
  return 0.6 * skin + 0.4 * Math.exp(-since * 70) * (2 * random() - 1);
});
/** Pulses of a voice at 120 Hz through three resonances, by their ringing. */
const voice = made((n) => {
  const since = (n % 400) / 48000;
  return [600, 1700, 2600].reduce(
    (sum, hz) => sum + 0.3 * Math.exp(-since * 400) * Math.sin(2 * Math.PI * hz * since),
    0,
  );
});

/** Signs that all add up between two samples, where the wave then reaches far beyond them. */
function pileUp(n: number): number {
  return Math.abs(n) < 40 ? (n % 2 ? -1 : 1) * (n < 0 ? -1 : 1) : 0;
}

const SIGNALS: readonly (readonly [string, Float64Array])[] = [
  ['drums', drums],
  ['voice', voice],
  ['white noise', noise(FRAMES, 1).left],
  ['samples of 1 and -1 at random', made(() => (random() < 0.5 ? -1 : 1))],
  ['square wave of 97 Hz', made((n) => (Math.sin((2 * Math.PI * 97 * n) / 48000 + 0.1) < 0 ? -1 : 1))],
  ['square wave of 997 Hz', made((n) => (Math.sin((2 * Math.PI * 997 * n) / 48000 + 0.1) < 0 ? -1 : 1))],
  ['single samples', made((n) => (n % 1201 === 600 ? (n % 2 ? 1 : -1) : 0))],
  ['sine of 50 Hz', tone(50, FRAMES).left],
  ['sine of a quarter of the rate, at 45 degrees', made((n) => Math.SQRT2 * Math.sin((Math.PI / 2) * n + Math.PI / 4))],
  ['sine of 0.45 of the rate', made((n) => Math.sin(2 * Math.PI * 0.45 * n + 0.3))],
  ['noise clipped hard', made(() => Math.max(-1, Math.min(1, 8 * (2 * random() - 1))))],
  ['bursts at half the rate', made((n) => (n % 900 > 400 && n % 900 < 420 ? (n % 2 ? 1 : -1) : 0))],
  ['samples that add up half-way', made((n) => pileUp((n % 1000) - 500))],
  ['speech of pauses and plosives', made((n) => (n % 2400 < 40 ? 2 * random() - 1 : 0.01 * (2 * random() - 1)))],
];

const AT_THE_TOP = ['sine of 0.45 of the rate', 'bursts at half the rate', 'samples that add up half-way'];

const limited = (settings: Settings, input: Float64Array): Float64Array => {
  // What the look-ahead and the filters hold at the end comes out, too.
  const padded = new Float64Array(FRAMES + 1000);
  padded.set(input);
  return through([stepOf('limiter', settings)], both(padded)).left;
};

describe('true-peak ceiling', () => {
  test('the measure of overshoot tells a limiter of samples from one of true peaks', () => {
    // All samples are at 1; the wave between them reaches sqrt(2): 3.0103 dB.
    const samples = SIGNALS[8]![1].slice(0, 2000);
    expect(peakOf(both(samples))).toBeCloseTo(1, 9);
    const faded = samples.map((x, n) => x * Math.min(1, n / 500, (2000 - n) / 500));
    expect(decibelsOf(oversampledPeak(faded, 32, 6.5))).toBeCloseTo(3.0103, 2);
  });

  describe.each([
    ['at +24 dB', { ceiling: -1, drive: 24 }],
    ['at +24 dB and its quickest', { ceiling: -1, drive: 24, lookAhead: 1, release: 5, adapt: 0 }],
    ['at +12 dB and its slowest', { ceiling: -6, drive: 12, lookAhead: 10, release: 1000 }],
  ])('%s', (_, settings) => {
    test.each(SIGNALS)('%s stay below it for every meter', (_name, input) => {
      const output = limited(settings, input);
      const over = (peak: number): number => decibelsOf(peak) - settings.ceiling;
      expect(over(peakOf(both(output)))).toBeLessThan(0);
      // A gentle meter, a sharp one, and the one of the project (32 steps); each measures what another leaves out.
      expect(over(oversampledPeak(output, 10, 5))).toBeLessThan(ALLOWED);
      expect(over(oversampledPeak(output, 64, 8))).toBeLessThan(ALLOWED);
      expect(over(truePeakOf([Float32Array.from(output)]).value)).toBeLessThan(ALLOWED);
    });
  });

  describe.each([44100, 48000, 96000, 192000])('at %d Hz', (rate) => {
    test.each(SIGNALS)('%s stay below it, by a common meter and by an endless sinc', (_name, input) => {
      const settings = { ceiling: -1, drive: 24, lookAhead: 1, release: 5, adapt: 0 };
      const { left } = through([stepOf('limiter', settings)], both(input.map((x, n) => (n < 6000 ? x : 0))), rate);
      expect(decibelsOf(peakOf(both(left))) + 1).toBeLessThan(0);
      expect(decibelsOf(oversampledPeak(left, 10, 5)) + 1).toBeLessThan(ALLOWED);
      expect(decibelsOf(idealPeak(left)) + 1).toBeLessThan(ALLOWED);
    });
  });

  test.each(SIGNALS)('%s reach it: nothing is turned down further than it must be', (name, input) => {
    const output = limited({ ceiling: -1, drive: 24 }, input);
    // Of meters that differ the one that reads most: the limiter obeys it.
    const most = Math.max(oversampledPeak(output, 10, 5), oversampledPeak(output, 64, 8));
    // Near half the rate, where even sharp meters differ, up to 0.4 dB are held in reserve for sharper ones.
    expect(decibelsOf(most) + 1).toBeGreaterThan(AT_THE_TOP.includes(name) ? -0.5 : -0.07);
  });
});

describe('sound of steady limiting', () => {
  /** Harmonics over the fundamental of a sine of 100 Hz, after two seconds at +12 dB. */
  const distortion = (settings: Settings): number => {
    const { left } = through([stepOf('limiter', { ceiling: -1, drive: 12, ...settings })], tone(100, 120000));
    const part = left.subarray(120000 - 48000);
    const at = (hz: number): number => {
      let [re, im] = [0, 0];
      for (let n = 0; n < 48000; n++) {
        re += part[n]! * Math.cos((2 * Math.PI * hz * n) / 48000);
        im += part[n]! * Math.sin((2 * Math.PI * hz * n) / 48000);
      }
      return Math.hypot(re, im);
    };
    return Math.hypot(...[200, 300, 400, 500, 600, 700].map(at)) / at(100);
  };

  test('adapts: a low note that presses for long is hardly bent', () => {
    const [fast, adaptive] = [distortion({ adapt: 0 }), distortion({ adapt: 100 })];
    expect(adaptive).toBeLessThan(1e-4);
    expect(fast / adaptive).toBeGreaterThan(10);
  });
});
