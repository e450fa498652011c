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

/** Successive bins that go into one band with the same weight. */
export interface BinStretch {
  /** Index in `thirdOctavesBelow`, or their count for the rest. */
  readonly band: number;
  readonly from: number;
  /** The first bin after the stretch. */
  readonly to: number;
  readonly weight: number;
}

/**
 * Which bins make which band. Bin k of 0 .. `last` (a transform of 2 x `last`) stands for the frequencies within half
 * a bin of k * sampleRate / (2 * last), and is split at band edges in proportion, so that all of every bin is counted.
 */
export function binStretches(last: number, sampleRate: number): readonly BinStretch[] {
  const octaves = thirdOctavesBelow(sampleRate);
  const binsPerHz = (2 * last) / sampleRate;
  const low = octaves[0]?.lower ?? sampleRate / 2;
  const high = octaves.at(-1)?.upper ?? sampleRate / 2;
  return [
    ...octaves.flatMap(({ lower, upper }, band) => stretchesBetween(band, lower * binsPerHz, upper * binsPerHz, last)),
    ...stretchesBetween(octaves.length, 0, low * binsPerHz, last),
    ...stretchesBetween(octaves.length, high * binsPerHz, last, last),
  ];
}

/** The bins between two places on the bin axis: whole ones together, and those at either end by their part. */
function stretchesBetween(band: number, start: number, end: number, last: number): BinStretch[] {
  const out: BinStretch[] = [];
  let from = Math.round(start);
  let held = 0;
  let bin = from;
  for (; bin <= last && bin - 0.5 < end; bin++) {
    const lower = Math.max(0, bin - 0.5);
    const upper = Math.min(last, bin + 0.5);
    const weight = Math.max(0, Math.min(end, upper) - Math.max(start, lower)) / (upper - lower);
    if (weight === held) continue;
    if (held > 0) out.push({ band, from, to: bin, weight: held });
    from = bin;
    held = weight;
  }
  if (held > 0) out.push({ band, from, to: bin, weight: held });
  return out;
}

/**
 * Sums `bins` (0 .. size / 2 of a transform of even `size`) into the third octaves. Linear, so it serves signed cross
 * energies as well; bands and rest add up to the sum of the bins.
 */
export function sumIntoThirdOctaves(bins: Float64Array, sampleRate: number): BandSums {
  const bands = new Float64Array(thirdOctavesBelow(sampleRate).length);
  let rest = 0;
  for (const { band, from, to, weight } of binStretches(bins.length - 1, sampleRate)) {
    let sum = 0;
    for (let bin = from; bin < to; bin++) sum += bins[bin]!;
    if (band < bands.length) bands[band] = bands[band]! + weight * sum;
    else rest += weight * sum;
  }
  return { bands, rest };
}
