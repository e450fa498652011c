import { gainOf } from '../../src/audio/decibels.ts';
import { songFrames } from './tempo.ts';

/** One channel of the whole song, `songFrames` long. */
export type Signal = Float32Array;

export const silence = (): Signal => new Float32Array(songFrames);

/** Adds `gain` times `source`, late by `delay` frames, to `out`. */
export const mixInto = (out: Signal, source: Signal, gain: number, delay = 0): void => {
  for (let n = Math.max(0, delay); n < out.length; n++) out[n] = out[n]! + gain * source[n - delay]!;
};

/** Largest absolute sample over channels. */
export const peakOf = (channels: readonly Signal[]): number => {
  let peak = 0;
  for (const channel of channels) for (let n = 0; n < channel.length; n++) peak = Math.max(peak, Math.abs(channel[n]!));
  return peak;
};

/** Sets the record level: scales all channels alike so that their highest sample peak stands at `peakDb` dBFS. */
export const levelTo = (channels: readonly Signal[], peakDb: number): void => {
  const gain = gainOf(peakDb) / peakOf(channels);
  for (const channel of channels) for (let n = 0; n < channel.length; n++) channel[n] = channel[n]! * gain;
};

/** Lets the last chord go: a raised-cosine fade over the final `frames` frames. */
export const fadeOut = (channel: Signal, frames: number): void => {
  const start = channel.length - frames;
  for (let n = start; n < channel.length; n++)
    channel[n] = channel[n]! * (0.5 + 0.5 * Math.cos((Math.PI * (n - start + 1)) / frames));
};
