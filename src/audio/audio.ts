/** Sound in memory. Every layer passes audio in this form and never changes its level. */
export interface Audio {
  /** Samples per second, Hz. */
  readonly sampleRate: number;
  /** One array a channel, all of one length (channels x frames); full scale is 1.0, values beyond it are kept. */
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
export const framesOf = (audio: Audio): number => audio.channels[0]?.length ?? 0;

/** Length of `audio` in seconds. */
export const secondsOf = (audio: Audio): number => framesOf(audio) / audio.sampleRate;

/** One channel as two loudspeakers play it: on both sides, at its own level. Two channels as they are. */
export const onBothSides = ({ sampleRate, channels }: Audio): Audio => {
  const [left, right = left] = channels as [Float32Array, Float32Array?];
  return { sampleRate, channels: [left, right] };
};
