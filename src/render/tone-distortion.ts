import { gainOf } from '../audio/decibels.ts';
import type { Values } from '../dsp/core/parameter.ts';
import { CONTROL_FRAMES } from '../dsp/core/processor.ts';
import { CompressorKernel, type CompressorValues } from '../dsp/processors/compressor.ts';

/** Level of the tone above the threshold, dB; never above full scale. */
const ABOVE_DB = 12;
/** What is played before it is looked at, and what is looked at, seconds: the latter holds whole periods of any whole 10 Hz. */
const SETTLING_SECONDS = 0.6;
const HEARD_SECONDS = 0.2;
const HIGHEST_HARMONIC = 10;

/** Size of the part of `samples` at `hz`. */
const sizeAt = (samples: Float64Array, hz: number, sampleRate: number): number => {
  // Goertzel's recursion: one multiplication a sample, in place of a sine and a cosine.
  const turn = (2 * Math.PI * hz) / sampleRate;
  const factor = 2 * Math.cos(turn);
  let last = 0;
  let before = 0;
  for (let n = 0; n < samples.length; n++) {
    const next = samples[n]! + factor * last - before;
    before = last;
    last = next;
  }
  return Math.hypot(last - before * Math.cos(turn), before * Math.sin(turn));
};

/**
 * Total harmonic distortion (root of the sum of squares of harmonics 2 to 10 over the first, 0..1) that a compressor of
 * these values makes of a steady sine 12 dB above its threshold, at most full scale: by the kernel itself, on both sides. Its
 * loudness keeping and its key are left out. Some milliseconds of work.
 *
 * @param hz frequency of the sine, a multiple of 10
 */
export const toneDistortion = (values: Values, hz: number, sampleRate: number): number => {
  const own = { ...values, autoMakeUp: 0, sideChain: 0 } as CompressorValues;
  const kernel = new CompressorKernel(own, sampleRate);
  const peak = gainOf(Math.min(0, own.threshold + ABOVE_DB));
  const heard = Math.round(HEARD_SECONDS * sampleRate);
  const frames = CONTROL_FRAMES * Math.ceil(((SETTLING_SECONDS + HEARD_SECONDS) * sampleRate) / CONTROL_FRAMES);
  const left = new Float64Array(frames);
  for (let n = 0; n < frames; n++) left[n] = peak * Math.sin((2 * Math.PI * hz * n) / sampleRate);
  const right = left.slice();
  for (let from = 0; from < frames; from += CONTROL_FRAMES) {
    kernel.control();
    kernel.process(left, right, from, from + CONTROL_FRAMES, null);
  }
  const last = left.subarray(frames - heard);
  let squares = 0;
  for (let order = 2; order <= HIGHEST_HARMONIC; order++) squares += sizeAt(last, order * hz, sampleRate) ** 2;
  return Math.sqrt(squares) / sizeAt(last, hz, sampleRate);
};
