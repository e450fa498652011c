import { expect, test } from 'vitest';
import { spectrumChecks } from '../../src/intake/checks/spectrum-checks.ts';
import { seeded } from '../helpers/signals.ts';

const RATE = 48_000;

/** Bursts of a tone, half a second of each second, over noise and an offset of these sizes. */
const bursts = (noise: number, offset: number) => {
  const draw = seeded(9);
  const channel = Float32Array.from({ length: 6 * RATE }, (_, n) => {
    const tone = n % RATE < RATE / 2 ? 0.3 * Math.sin((2 * Math.PI * 440 * n) / RATE) : 0;
    return tone + offset + noise * (2 * draw() - 1);
  });
  return { sampleRate: RATE, channels: [channel] };
};
const codes = (noise: number, offset: number) => spectrumChecks(bursts(noise, offset)).map(({ code }) => code);

test('noise in pauses is told, with and without an offset; an offset alone is no noise', () => {
  expect(codes(0.01, 0)).toContain('noise-floor');
  expect(codes(0.01, 0.012)).toContain('noise-floor');
  expect(codes(0.0003, 0.012)).not.toContain('noise-floor');
});
