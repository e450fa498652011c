import { placedSamples, type Samples } from './samples.ts';

/** Sound that is read stretch by stretch, wherever it is. Every layer passes it in this form and never changes its level. */
export interface Sound {
  /** Samples per second, Hz. */
  readonly sampleRate: number;
  /** One for each channel, all of one length (channels x frames); full scale is 1.0, values beyond it are kept. */
  readonly channels: readonly Samples[];
}

/** Sound in memory. */
export interface Audio extends Sound {
  readonly channels: readonly Float32Array[];
}

/**
 * A sound that a processor works with, such as an impulse response: two channels of one length at the processor's own
 * rate. Plain data: it crosses into the worklet.
 */
export interface StereoSound {
  /** Digest of the samples: stands for them where they are too many to compare. */
  readonly hash: string;
  readonly left: Float32Array;
  readonly right: Float32Array;
}

/** Length of `audio` in frames (samples of one channel). */
export const framesOf = (audio: Sound): number => audio.channels[0]?.length ?? 0;

/** Length of `audio` in seconds. */
export const secondsOf = (audio: Sound): number => framesOf(audio) / audio.sampleRate;

/** One channel as two loudspeakers play it: on both sides, at its own level. Two channels as they are. */
export function onBothSides(sound: Audio): Audio;
export function onBothSides(sound: Sound): Sound;
export function onBothSides({ sampleRate, channels }: Sound): Sound {
  const [left, right = left] = channels as [Samples, Samples?];
  return { sampleRate, channels: [left, right] };
}

/** All of a sound in memory; the sound itself where it is there. For what is short, or needs all of it at once. */
export const wholeOf = (sound: Sound): Audio =>
  isInMemory(sound)
    ? sound
    : { sampleRate: sound.sampleRate, channels: sound.channels.map((channel) => channel.subarray(0, channel.length)) };

const isInMemory = (sound: Sound): sound is Audio => sound.channels.every((channel) => channel instanceof Float32Array);

/** Frames from..to-1 of a sound, in memory. */
export const stretchOf = ({ sampleRate, channels }: Sound, from: number, to: number): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(from, to)),
});

/** A sound placed at frame `start` (negative: its beginning is cut) of `length` frames, silent where it does not sound. */
export function placedSound(sound: Audio, start: number, length: number): Audio;
export function placedSound(sound: Sound, start: number, length: number): Sound;
export function placedSound({ sampleRate, channels }: Sound, start: number, length: number): Sound {
  return { sampleRate, channels: channels.map((channel) => placedSamples(channel, start, length)) };
}
