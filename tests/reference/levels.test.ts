import { expect, test } from 'vitest';
import { measure } from '../../src/measure/measure.ts';
import { mono, sine, stereo } from '../helpers/signals.ts';

// Crest factors of the elementary waves (any textbook): sine sqrt 2, square 1, triangle sqrt 3. A period of 480 samples
// keeps the peaks of all three on samples.
const PERIOD = 480;
const wave = (shape: (turn: number) => number): Float32Array =>
  Float32Array.from({ length: 100 * PERIOD }, (_, n) => 0.5 * shape((n % PERIOD) / PERIOD));

test.each<[string, (turn: number) => number, number, number]>([
  ['sine', (turn) => Math.sin(2 * Math.PI * turn), 3.0103, 1e-4],
  ['square', (turn) => (turn < 0.5 ? 1 : -1), 0, 1e-6],
  // 480 samples of a triangle have a mean square of (1 + 2 / 240^2) / 3.
  ['triangle', (turn) => 1 - 4 * Math.abs(turn - 0.5), 4.7712, 1e-3],
])('the crest of a %s', (_, shape, expected, tolerance) => {
  const { crestDb, samplePeakDbfs } = measure(mono(wave(shape)));
  expect(Math.abs(crestDb! - expected)).toBeLessThan(tolerance);
  expect(samplePeakDbfs).toBeCloseTo(-6.0206, 4);
});

// AES17 states levels against the rms of a full-scale sine; here rms 1.0 is 0 dB, which lies 3.01 dB higher.
test('a full-scale sine has rms -3.01 dBFS, alike in one channel and in two', () => {
  const tone = sine({ hz: 1000, seconds: 1 });
  expect(measure(mono(tone)).rmsDbfs).toBeCloseTo(-3.0103, 4);
  expect(measure(stereo(tone)).rmsDbfs).toBeCloseTo(-3.0103, 4);
});
