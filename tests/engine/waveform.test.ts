import { expect, test } from 'vitest';
import { finished } from '../../src/audio/steps.ts';
import { waveformSteps } from '../../src/engine/worker/overview.ts';

const sound = {
  sampleRate: 1000,
  channels: [Float32Array.from({ length: 1000 }, (_, n) => n / 1000), new Float32Array(1000).fill(0.25)],
};

test('each column holds the lowest and highest of its samples over both channels', () => {
  const { min, max, secondsPerColumn, startSeconds } = finished(
    waveformSteps(sound, { startSeconds: 0.1, endSeconds: 0.5 }, 4),
  );
  expect([secondsPerColumn, startSeconds]).toEqual([0.1, 0.1]);
  // Samples 100 to 199 run from 0.1 to 0.199, beside a channel at 0.25.
  expect([...min].map((x) => Math.round(1000 * x))).toEqual([100, 200, 250, 250]);
  expect([...max].map((x) => Math.round(1000 * x))).toEqual([250, 299, 399, 499]);
});

test('of fewer samples than columns there is one column for each, and silence behind the end', () => {
  const close = finished(waveformSteps(sound, { startSeconds: 0.998, endSeconds: 1.002 }, 50));
  expect(close.secondsPerColumn).toBeCloseTo(0.001, 12);
  expect([...close.max].map((x) => Math.round(1000 * x))).toEqual([998, 999, 0, 0]);
});
