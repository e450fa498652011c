/**
 * Static curve of a downward compressor with a quadratic knee (Giannoulis, Massberg and Reiss 2012), as gain reduction.
 * @param over level above the threshold, dB (-Infinity for silence)
 * @param slope 1 - 1 / ratio: 0 changes nothing, 1 holds the level at the threshold
 * @param kneeDb whole width of the knee, dB, centred on the threshold; 0 is a corner
 * @returns dB by which to turn down, 0 or more; value and slope are continuous at both ends of the knee
 */
export const reductionDb = (over: number, slope: number, kneeDb: number): number => {
  if (2 * over <= -kneeDb) return 0;
  if (2 * over >= kneeDb) return slope * over;
  const into = over + kneeDb / 2;
  return (slope * into * into) / (2 * kneeDb);
};

/**
 * The same curve as a function of the output level: the reduction that leads to this output. A
 * feedback compressor settles on the same static curve with it.
 * @param over output level above the threshold, dB
 * @param slope as above, below 1
 */
export const reductionFromOutputDb = (over: number, slope: number, kneeDb: number): number => {
  if (2 * over <= -kneeDb) return 0;
  if (2 * over >= kneeDb * (1 - slope)) return (slope / (1 - slope)) * over;
  const into = over + kneeDb / 2;
  // Input above the lower end of the knee, v, from v - slope v^2 / (2 knee) = into.
  return (2 * into) / (1 + Math.sqrt(1 - (2 * slope * into) / kneeDb)) - into;
};

/** dB of reduction for each dB of output level at such a point: steep where the ratio is high. */
export const outputSteepness = (over: number, slope: number, kneeDb: number): number => {
  if (2 * over <= -kneeDb || slope === 0) return 0;
  if (2 * over >= kneeDb * (1 - slope)) return slope / (1 - slope);
  const into = over + kneeDb / 2;
  return 1 / Math.sqrt(1 - (2 * slope * into) / kneeDb) - 1;
};

/** Factor of a one-pole average that reaches 63.2 % of a step after `seconds` (time constant), per sample. */
export const smoothingFactor = (seconds: number, sampleRate: number): number =>
  1 - Math.exp(-1 / (seconds * sampleRate));
