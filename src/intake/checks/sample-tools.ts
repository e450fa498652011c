/** The greatest absolute value of a channel. */
export const peakOf = (channel: Float32Array): number => greatestIn(channel, 0, channel.length);

/** The greatest absolute value among samples from..to-1 of a channel; what lies outside of it counts as 0. */
export const greatestIn = (channel: Float32Array, from: number, to: number): number => {
  let most = 0;
  for (let n = Math.max(0, from); n < Math.min(channel.length, to); n++) most = Math.max(most, Math.abs(channel[n]!));
  return most;
};

/** A time in seconds as sentences have it: "4.51 s". */
export const secondsText = (value: number): string => `${value.toFixed(value < 10 ? 2 : 1)} s`;
