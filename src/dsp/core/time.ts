/** Samples, not rounded, in a time of `ms` milliseconds at `sampleRate` Hz. */
export const samplesIn = (ms: number, sampleRate: number): number => (ms * sampleRate) / 1000;

/** The same, to the nearest whole sample. */
export const wholeSamplesIn = (ms: number, sampleRate: number): number => Math.round(samplesIn(ms, sampleRate));
