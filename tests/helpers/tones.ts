/** Amplitude (peak) and phase (radians, of a sine) of the part of `samples` at `hz`, over all of them: whole cycles only. */
export const partAt = (
  samples: Float64Array,
  hz: number,
  sampleRate = 48000,
): { readonly amplitude: number; readonly phase: number } => {
  let sin = 0;
  let cos = 0;
  samples.forEach((x, n) => {
    sin += x * Math.sin((2 * Math.PI * hz * n) / sampleRate);
    cos += x * Math.cos((2 * Math.PI * hz * n) / sampleRate);
  });
  return { amplitude: (2 / samples.length) * Math.hypot(sin, cos), phase: Math.atan2(cos, sin) };
};

/** Level of the part at `hz`, dB, 0 for a sine of peak 1. */
export const levelAt = (samples: Float64Array, hz: number, sampleRate = 48000): number =>
  20 * Math.log10(partAt(samples, hz, sampleRate).amplitude);
