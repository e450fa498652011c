import { expect, test } from 'vitest';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { toneDistortion } from '../../src/render/tone-distortion.ts';
import { processor } from '../../src/dsp/processors/compressor.ts';
import { distortionOf } from '../helpers/harmonics.ts';

const told = (settings: Settings, hz: number): number =>
  toneDistortion(valuesFrom(processor.parameters, settings), hz, 48000);

test.each([
  [50, { attack: 1, release: 50, detector: 'peak' }],
  [100, { attack: 1, release: 50, detector: 'peak' }],
  [50, { attack: 10, release: 120, detector: 'peak' }],
  [50, { attack: 1, release: 50, detector: 'rms' }],
])('the distortion told of %d Hz is that of the chain: %j', (hz, settings) => {
  const all = { threshold: -24, ratio: 4, ...settings };
  // The chain is measured at the nearest frequency with whole periods in 65536 frames, over harmonics 2 to 20.
  const measured = distortionOf('compressor', all, hz, 10 ** (-12 / 20));
  expect(told(all, hz) / measured).toBeGreaterThan(0.97);
  expect(told(all, hz) / measured).toBeLessThan(1.03);
});

test('a new compressor leaves low notes clean, and neutral settings make none', () => {
  for (const hz of [50, 100]) {
    expect(told(processor.start, hz)).toBeLessThan(0.005);
    expect(told({}, hz)).toBeLessThan(1e-9);
  }
});
