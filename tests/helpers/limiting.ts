/** Settings of a compressor that holds its input at a threshold (dB), at once: what it does follows by arithmetic. */
export const limitingAt = (threshold: number) =>
  ({ threshold, ratio: 100, knee: 0, attack: 0.01, oversampling: 'off', release: 5 }) as const;
