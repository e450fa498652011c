import type { Audio } from '../audio/audio.ts';
import { measure } from '../measure/measure.ts';
import type { Measurement } from '../measure/figures.ts';
import { described, ProblemError } from '../session/problem.ts';

const MOST_CHANNELS = 2;

const isSound = (value: unknown): value is Audio => {
  const { sampleRate, channels } = (value ?? {}) as Partial<Audio>;
  return (
    Number.isFinite(sampleRate) &&
    sampleRate! > 0 &&
    Array.isArray(channels) &&
    channels.length > 0 &&
    channels.length <= MOST_CHANNELS &&
    channels.every((channel: unknown) => channel instanceof Float32Array) &&
    new Set(channels.map((channel) => channel.length)).size === 1
  );
};

/**
 * Every figure of a sound that a script made or read, as `measure` gives them.
 * @throws ProblemError for anything that is not a sound
 */
export const measuredSound = (audio: Audio): Measurement => {
  if (isSound(audio)) return measure(audio);
  const expected = '{ sampleRate, channels: [Float32Array, …] } with one or two channels of one length';
  throw new ProblemError({ code: 'wrong-type', path: 'measure', expected, found: described(audio) });
};
