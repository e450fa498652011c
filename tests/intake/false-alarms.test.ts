import { expect, test } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { sampleChecks } from '../../src/intake/checks/sample-checks.ts';
import { spectrumChecks } from '../../src/intake/checks/spectrum-checks.ts';
import { chance, RATE } from './multitrack.ts';

// Sounds whose fault, or whose lack of one, is known because they are made here.
const SECONDS = 10;

const told = (channel: Float32Array): string[] => {
  const audio: Audio = { sampleRate: RATE, channels: [channel] };
  return [...sampleChecks(audio), ...spectrumChecks(audio)].map(({ code }) => code);
};

const made = (sample: (t: number, n: number) => number): Float32Array =>
  Float32Array.from({ length: SECONDS * RATE }, (_, n) => sample(n / RATE, n));

/** Notes of a quarter second of which 0.15 s sound, cut hard at both ends; some are left out. */
const gated = (wave: (phase: number) => number): Float32Array => {
  const next = chance(6);
  const notes = Array.from({ length: 4 * SECONDS }, () =>
    next() < 0.15 ? 0 : 110 * 2 ** (Math.floor(12 * next()) / 12),
  );
  return made((t) => {
    const [note, at] = [notes[Math.floor(4 * t)]!, t % 0.25];
    return note > 0 && at > 0.01 && at < 0.16 ? 0.4 * wave((note * at) % 1) : 0;
  });
};

test.each([
  ['saw', (phase: number) => 2 * phase - 1],
  ['sine', (phase: number) => Math.sin(2 * Math.PI * phase)],
  ['square', (phase: number) => (phase < 0.5 ? 1 : -1)],
])('notes of a %s that stop and begin on a beat are no dropouts, nor clipped', (_, wave) => {
  expect(told(gated(wave))).toEqual([]);
});

/** Hits of noise and a falling tone every quarter second, with next to nothing between them. */
const drums = (): Float32Array => {
  const next = chance(3);
  return made((t) => {
    const [hit, at] = [Math.floor(4 * t), (t % 0.25) - 0.01];
    if (at < 0) return 0;
    const kick = hit % 2 === 0 ? 0.6 * Math.sin(2 * Math.PI * (55 * at - 1.6 * Math.exp(-at / 0.02))) : 0;
    return kick * Math.exp(-at / 0.03) + 0.2 * (2 * next() - 1) * Math.exp(-at / 0.015);
  });
};

test('hum in the short pauses of drums is told from -54 dBFS on, and drums without it are clean', () => {
  const clean = drums();
  expect(told(clean)).toEqual([]);
  for (const mains of [50, 60]) {
    // A line and two harmonics: together sqrt(1 + 0.25 + 0.36) times the first, so at -54 dBFS rms.
    const level = (10 ** (-54 / 20) * Math.SQRT2) / Math.sqrt(1.61);
    const line = (t: number): number =>
      [1, 0.5, 0.6].reduce((sum, gain, k) => sum + gain * Math.sin(2 * Math.PI * mains * (k + 1) * t + k), 0);
    expect(told(clean.map((x, n) => x + level * line(n / RATE))), `${mains} Hz`).toEqual(['hum']);
  }
});

/** Low-pass by a windowed sinc (Blackman): a wall some 300 Hz wide, 74 dB deep. */
const walled = (channel: Float32Array, hz: number): Float32Array => {
  const reach = 450;
  const taps = Array.from({ length: 2 * reach + 1 }, (_, k) => {
    const x = k - reach;
    const sinc = x === 0 ? (2 * hz) / RATE : Math.sin((2 * Math.PI * hz * x) / RATE) / (Math.PI * x);
    const phase = (Math.PI * (x + reach)) / reach;
    return sinc * (0.42 - 0.5 * Math.cos(phase) + 0.08 * Math.cos(2 * phase));
  });
  return channel.map((_, n) => taps.reduce((sum, tap, k) => sum + tap * (channel[n + reach - k] ?? 0), 0));
};

test('breath and sibilants through a microphone that ends at 12 kHz were not coded; with bands missing now and then they were', () => {
  const next = chance(12);
  const air = made((t) => 0.1 * (2 * next() - 1) * (0.6 + 0.4 * Math.sin(2 * Math.PI * 1.7 * t))).subarray(0, 4 * RATE);
  const narrow = walled(air, 12_000);
  expect(told(narrow)).not.toContain('lossy');
  expect(told(narrow)).not.toContain('up-sampled');
  // Where a converter from 32 kHz ends.
  expect(told(walled(air.subarray(0, 2 * RATE), 15_300))).toContain('up-sampled');
  // What a codec has no bits for: the sound between 6 and 7 kHz, in one frame of twenty-odd.
  const low = walled(narrow, 6000);
  const band = walled(narrow, 7000).map((x, n) => x - low[n]!);
  const coded = narrow.map((x, n) => x - (n % 24_000 < 2400 ? band[n]! : 0));
  expect(told(coded)).toContain('lossy');
});
