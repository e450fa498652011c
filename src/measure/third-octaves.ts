/** Third-octave bands of IEC 61260-1, base 10: mid frequencies 1000 * 10^(k/10) Hz, edges a factor 10^(1/20) away. */
export interface ThirdOctave {
  readonly hz: number;
  readonly lower: number;
  readonly upper: number;
}

const FIRST = -16;
const LAST = 13;

/** The bands from 25 Hz to 20 kHz whose mid frequency lies below half of `sampleRate`; the last may reach beyond it. */
export function thirdOctavesBelow(sampleRate: number): readonly ThirdOctave[] {
  const bands = Array.from({ length: LAST - FIRST + 1 }, (_, n) => {
    const hz = 1000 * 10 ** ((FIRST + n) / 10);
    return { hz, lower: hz * 10 ** -0.05, upper: hz * 10 ** 0.05 };
  });
  return bands.filter(({ hz }) => hz < sampleRate / 2);
}

/** Energies of bins, summed into bands. */
export interface BandSums {
  /** One for each of `thirdOctavesBelow`. */
  readonly bands: Float64Array;
  /** What lies below the lowest or above the highest band edge. */
  readonly rest: number;
}

/**
 * Sums `bins` into the third octaves. Bin k of `bins` (k = 0 .. size / 2 of a transform of even `size`) stands for the
 * frequencies within half a bin of k * sampleRate / size, and is split at band edges in proportion. Linear, so it
 * serves signed cross energies as well; bands and rest add up to the sum of the bins.
 */
export function sumIntoThirdOctaves(bins: Float64Array, sampleRate: number): BandSums {
  const octaves = thirdOctavesBelow(sampleRate);
  const last = bins.length - 1;
  const binsPerHz = (2 * last) / sampleRate;
  const bands = Float64Array.from(octaves, ({ lower, upper }) =>
    sumBetween(bins, lower * binsPerHz, upper * binsPerHz),
  );
  const low = octaves[0]?.lower ?? sampleRate / 2;
  const high = octaves.at(-1)?.upper ?? sampleRate / 2;
  return { bands, rest: sumBetween(bins, 0, low * binsPerHz) + sumBetween(bins, high * binsPerHz, last) };
}

/** Sum of `bins` between two places on the bin axis; the bins at either end count by the part that lies inside. */
function sumBetween(bins: Float64Array, from: number, to: number): number {
  const last = bins.length - 1;
  let sum = 0;
  for (let bin = Math.round(from); bin <= last && bin - 0.5 < to; bin++) {
    const start = Math.max(0, bin - 0.5);
    const end = Math.min(last, bin + 0.5);
    sum += (bins[bin]! * Math.max(0, Math.min(to, end) - Math.max(from, start))) / (end - start);
  }
  return sum;
}
