import { expect, test } from 'vitest';
import { sampleChecks } from '../../src/intake/checks/sample-checks.ts';
import { mono } from '../helpers/signals.ts';

const RATE = 48_000;

const codesOf = (wave: (seconds: number) => number): string[] =>
  sampleChecks(mono(Float32Array.from({ length: 4 * RATE }, (_, n) => wave(n / RATE)))).map(({ code }) => code);

const bass = (seconds: number): number => Math.sin(2 * Math.PI * 45 * seconds);

test('a bass that is cut flat at full scale is clipped, however slowly it comes to it; a slow wave that is not cut is none', () => {
  expect(codesOf((seconds) => Math.max(-1, Math.min(1, 1.05 * bass(seconds))))).toContain('clipped');
  expect(codesOf((seconds) => 0.99 * bass(seconds))).not.toContain('clipped');
  // In steps of 16 bits, its top is flat for a few samples.
  expect(codesOf((seconds) => Math.round(2 ** 15 * 0.9 * bass(seconds)) / 2 ** 15)).not.toContain('clipped');
});
