import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { framesOf } from '../../src/audio/audio.ts';
import { LOOKED_AT, resample } from '../../src/audio/resample.ts';
import { sampleOf } from '../helpers/soak.ts';

const sine = (hz: number, rate: number, frames = rate): Float32Array =>
  Float32Array.from({ length: frames }, (_, i) => 0.5 * Math.sin((2 * Math.PI * hz * i) / rate));

const converted = (input: Float32Array, from: number, to: number): Float32Array =>
  resample({ sampleRate: from, channels: [input] }, to).channels[0]!;

const largest = (x: Float32Array): number => x.reduce((most, value) => Math.max(most, Math.abs(value)), 0);

/** Level re 0.5 and phase of the sine of `hz`, and what else there is, dB re 1: a least-squares fit of the middle part. */
function fit(signal: Float32Array, hz: number, rate: number): { db: number; phase: number; restDb: number } {
  const from = Math.floor(signal.length * 0.2);
  const to = Math.floor(signal.length * 0.8);
  let [ss, cc, sc, ys, yc] = [0, 0, 0, 0, 0];
  for (let i = from; i < to; i++) {
    const s = Math.sin((2 * Math.PI * hz * i) / rate);
    const c = Math.cos((2 * Math.PI * hz * i) / rate);
    ss += s * s;
    cc += c * c;
    sc += s * c;
    ys += signal[i]! * s;
    yc += signal[i]! * c;
  }
  const a = (ys * cc - yc * sc) / (ss * cc - sc * sc);
  const b = (yc * ss - ys * sc) / (ss * cc - sc * sc);
  let rest = 0;
  for (let i = from; i < to; i++) {
    const w = (2 * Math.PI * hz * i) / rate;
    rest += (signal[i]! - a * Math.sin(w) - b * Math.cos(w)) ** 2;
  }
  return {
    db: 20 * Math.log10(Math.hypot(a, b) / 0.5),
    phase: Math.atan2(b, a),
    restDb: 10 * Math.log10(rest / (to - from)),
  };
}

const RATES: readonly (readonly [from: number, to: number])[] = [
  [44100, 48000],
  [48000, 44100],
  [96000, 48000],
  [48000, 96000],
  [192000, 44100],
  [8000, 48000],
  [44101, 48000], // no common divisor: interpolated phases
  [48000, 44056],
];

describe.each(RATES)('%i to %i Hz', (from, to) => {
  test('997 Hz keeps level and phase, and nothing is added', () => {
    const { db, phase, restDb } = fit(converted(sine(997, from), from, to), 997, to);
    expect(Math.abs(db)).toBeLessThan(0.001);
    expect(Math.abs(phase)).toBeLessThan(1e-6); // no delay: 1e-6 rad at 997 Hz are 0.16 ns
    expect(restDb).toBeLessThan(-150); // float32 output alone: about -159
  });

  test('flat within 0.01 dB to the end of the pass band', () => {
    const edge = Math.floor((Math.min(from, to) / 2) * (20 / 22.05));
    for (const hz of [0.5 * edge, 0.9 * edge, edge]) {
      expect(Math.abs(fit(converted(sine(hz, from), from, to), hz, to).db)).toBeLessThan(0.01);
    }
  });
});

test('for what is only looked at: flat to 0.8 of the lower Nyquist frequency, 60 dB down from that frequency on', () => {
  const looked = (hz: number): Float32Array =>
    resample({ sampleRate: 48_000, channels: [sine(hz, 48_000)] }, 4000, LOOKED_AT).channels[0]!;
  // Ripple of the pass band is as great as what the stop band lets through: a thousandth, 0.009 dB.
  for (const hz of [50, 800, 1599]) expect(Math.abs(fit(looked(hz), hz, 4000).db)).toBeLessThan(0.011);
  for (const hz of [2001, 2500, 11_900])
    expect(20 * Math.log10(largest(looked(hz).subarray(800, 3200)) / 0.5)).toBeLessThan(-60);
});

/** Rates that are delivered, each to each other: a few in `npm test`, all when soaking. */
const DELIVERED = [44_100, 48_000, 88_200, 96_000, 176_400, 192_000];
const PAIRS = DELIVERED.flatMap((from) => DELIVERED.filter((to) => to !== from).map((to) => [from, to] as const));

describe.each(sampleOf(PAIRS, 5))('delivered: %i to %i Hz', (from, to) => {
  const lower = Math.min(from, to);
  const frames = Math.round(0.3 * from);

  // Asked for: 0.01 dB to 20 kHz and to 0.45 of the lower rate, -120 dB, no lag.
  test('flat to 0.01 dB at 20 kHz and at 0.45 of the lower rate, no lag, no image above -120 dB, exact length', () => {
    for (const hz of [997, 20_000, Math.round(0.45 * lower)]) {
      const out = converted(sine(hz, from, frames), from, to);
      expect(out.length).toBe(Math.ceil((frames * to) / from));
      const { db, phase, restDb } = fit(out, hz, to);
      expect(Math.abs(db)).toBeLessThan(0.01);
      expect(Math.abs(phase)).toBeLessThan(2e-5); // at 20 kHz 0.16 ns
      // The sine is at -9 dB rms; windows of the fit and floats leave less than that.
      expect(restDb).toBeLessThan(-129);
    }
  });

  test.runIf(from > to)('what lies above half the new rate is 120 dB down', () => {
    for (const hz of [lower / 2 + 50, Math.min(0.75 * lower, 0.49 * from)]) {
      const out = converted(sine(hz, from, frames), from, to);
      const middle = out.subarray(Math.floor(0.2 * out.length), Math.floor(0.8 * out.length));
      const power = middle.reduce((sum, x) => sum + x * x, 0) / middle.length / 0.125;
      expect(10 * Math.log10(power)).toBeLessThan(-120);
    }
  });
});

test('44.1 to 48 kHz and back are flat to 20 kHz', () => {
  expect(Math.abs(fit(converted(sine(20000, 44100), 44100, 48000), 20000, 48000).db)).toBeLessThan(0.01);
  expect(Math.abs(fit(converted(sine(20000, 48000), 48000, 44100), 20000, 44100).db)).toBeLessThan(0.01);
});

describe('what the new rate cannot hold is at least 120 dB down', () => {
  const rms = (x: Float32Array): number => {
    const middle = x.subarray(Math.floor(x.length * 0.2), Math.floor(x.length * 0.8));
    return 10 * Math.log10(middle.reduce((sum, v) => sum + v * v, 0) / middle.length / 0.125);
  };

  test.each([24001, 26000, 30000, 40000, 47000])('%i Hz from 96 to 48 kHz', (hz) => {
    expect(rms(converted(sine(hz, 96000), 96000, 48000))).toBeLessThan(-120);
  });

  test.each([22060, 23000, 23999])('%i Hz from 48 to 44.1 kHz', (hz) => {
    expect(rms(converted(sine(hz, 48000), 48000, 44100))).toBeLessThan(-120);
  });

  test('images: 14 kHz from 32 to 96 kHz leaves no 18 kHz', () => {
    const { restDb } = fit(converted(sine(14000, 32000), 32000, 96000), 14000, 96000);
    expect(restDb).toBeLessThan(-129); // 120 dB below the sine, whose rms is -9 dB
  });
});

test('there and back again gives the same signal below the pass band edge', () => {
  const high = sine(15000, 44100);
  const source = sine(997, 44100).map((x, i) => x + high[i]! / 4);
  const back = converted(converted(source, 44100, 96000), 96000, 44100);
  expect(back.length).toBe(source.length);
  expect(largest(back.subarray(2000, 42000).map((x, i) => x - source[2000 + i]!))).toBeLessThan(1e-6);
});

test('an impulse stays where it was, and the response is symmetrical around it (linear phase)', () => {
  const impulse = new Float32Array(4410);
  impulse[2205] = 1;
  const response = converted(impulse, 44100, 88200);
  const peak = response.indexOf(Math.max(...response));
  expect(peak).toBe(4410);
  for (let i = 1; i < 400; i++) expect(response[peak - i]).toBeCloseTo(response[peak + i]!, 7);
});

test('a constant stays what it is at every phase', () => {
  const out = converted(new Float32Array(44100).fill(0.25), 44100, 48000);
  expect(largest(out.subarray(500, 47000).map((x) => x - 0.25))).toBeLessThan(1e-7);
});

test('at its own rate the audio itself comes back', () => {
  const audio = { sampleRate: 44100, channels: [new Float32Array(3)] };
  expect(resample(audio, 44100)).toBe(audio);
});

test('the length is the next whole number of frames, whatever the length and rates', () => {
  const rate = fc.constantFrom(8000, 11025, 22050, 44100, 48000, 88200, 96000);
  fc.assert(
    fc.property(fc.integer({ min: 0, max: 3000 }), rate, rate, (frames, from, to) => {
      const audio = { sampleRate: from, channels: [new Float32Array(frames), new Float32Array(frames)] };
      const out = resample(audio, to);
      expect(framesOf(out)).toBe(Math.ceil((frames * to) / from));
      expect(out.channels.length).toBe(2);
      expect(out.sampleRate).toBe(to);
    }),
    { numRuns: 40 },
  );
});

test('channels do not touch each other, and the sum of signals becomes the sum of results', () => {
  const samples = fc.float32Array({ minLength: 700, maxLength: 700, min: -1, max: 1, noNaN: true });
  fc.assert(
    fc.property(samples, samples, (a, b) => {
      const sum = a.map((x, i) => x + b[i]!);
      const [left, right] = resample({ sampleRate: 44100, channels: [a, b] }, 48000).channels;
      const both = converted(sum, 44100, 48000);
      expect(largest(both.map((x, i) => x - left![i]! - right![i]!))).toBeLessThan(1e-6);
    }),
    { numRuns: 5 },
  );
});

test('a rate that is no positive whole number is a mistake of the caller', () => {
  const audio = { sampleRate: 44100, channels: [new Float32Array(3)] };
  for (const rate of [0, -48000, 44100.5, NaN, Infinity]) expect(() => resample(audio, rate)).toThrow(RangeError);
});
