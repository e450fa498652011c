/** A moment and what a control was then, in a scale in which pieces between points are straight. */
export interface Sample {
  readonly seconds: number;
  readonly value: number;
}

/** How far a sample lies from the straight line between two others, in value. */
const distance = (a: Sample, b: Sample, sample: Sample): number => {
  const x = (sample.seconds - a.seconds) / (b.seconds - a.seconds);
  return Math.abs(a.value + (b.value - a.value) * x - sample.value);
};

/**
 * The fewest points that halving finds, among the samples (in order of time), between which straight lines pass every sample within
 * `tolerance`: the method of Ramer (1972) and of Douglas and Peucker (1973), with the distance taken in value, not across the line.
 */
export const simplified = (samples: readonly Sample[], tolerance: number): Sample[] => {
  if (samples.length < 3) return [...samples];
  const [first, last] = [samples[0]!, samples.at(-1)!];
  let [worst, at] = [0, 0];
  for (let n = 1; n < samples.length - 1; n++) {
    const far = distance(first, last, samples[n]!);
    if (far > worst) [worst, at] = [far, n];
  }
  if (worst <= tolerance) return [first, last];
  return [...simplified(samples.slice(0, at + 1), tolerance), ...simplified(samples.slice(at), tolerance).slice(1)];
};
