import type { Levels } from '../../src/measure/levels.ts';
import { Meter } from '../../src/measure/meter.ts';
import type { StereoSums } from '../../src/measure/stereo/stereo.ts';

const metered = (channels: readonly Float32Array[]): Meter => {
  const meter = new Meter(48000, channels.length, { spectrum: false });
  meter.push(channels, 0, channels[0]!.length);
  return meter;
};

/** Levels of `channels` (channels x frames) as the product's meter reads them. */
export const levelsOf = (channels: readonly Float32Array[]): Levels => metered(channels).levels();

/** Stereo sums of two channels as the product's meter makes them. */
export const stereoSumsOf = (left: Float32Array, right: Float32Array): StereoSums => metered([left, right]).stereo()!;
