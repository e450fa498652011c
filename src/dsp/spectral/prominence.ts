/** Bands an octave. */
const DENSITY = 24;
/** First band, Hz: far enough below the lowest reduced band to include its surroundings. */
const FIRST_HZ = 300;
const LAST_HZ = 20000;
/** A band is a triangle that ends this far from its middle, octaves, or this many bins. */
const HALF_WIDTH = 1 / 12;
const LEAST_BINS = 1.5;
/** Surroundings of a band: from so many bands beside it to so many, on both sides. */
const NEAR = 6;
const FAR = 18;
/** Fewer bands than this at the end of the range are no surroundings. */
const FEWEST = 4;
/** The mean of two unequal sides in dB counts until it is this much below the mean of their powers: 1 dB. */
const SLOPE = 10 ** (-1 / 10);
/** Time constant of the mean of each band, seconds. */
const MEAN_SECONDS = 0.05;
/** A mean below this is silence (-320 dB). */
const NOTHING = 1e-8;

interface Band {
  readonly first: number;
  /** Weights of the bins from `first` on; they add up to 1. */
  readonly weights: Float64Array;
}

const bandAt = (hz: number, hzPerBin: number): Band => {
  const reach = Math.max(hz * (2 ** HALF_WIDTH - 1), LEAST_BINS * hzPerBin);
  const first = Math.ceil((hz - reach) / hzPerBin);
  const last = Math.floor((hz + reach) / hzPerBin);
  const weights = Float64Array.from(
    { length: last - first + 1 },
    (_, n) => 1 - Math.abs((first + n) * hzPerBin - hz) / reach,
  );
  const sum = weights.reduce((total, weight) => total + weight, 0);
  return { first, weights: weights.map((weight) => weight / sum) };
};

/**
 * Finds resonances in a sound's spectrum: the level of narrow bands, averaged over about 50 ms, against the bands
 * around each, its near neighbours left out, so that a resonance does not hide itself (after the cell-averaging detector of
 * Finn and Johnson 1968, from memory). The surroundings are the root of the mean square of the powers, not their mean: so
 * the partials of a high note, which all stand out alike, do not count as resonances beside each other.
 * The average is taken of the fourth root of the power, so that it forgets a loud tone by 17 dB in 50 ms and not by 4.
 * Only ratios count: it does not matter how loud the sound is.
 */
export class Prominence {
  /** Middle of each band, Hz, 24 an octave. */
  readonly hz: Float64Array;
  private readonly bands: readonly Band[];
  /** Power of each bin, as far as the bands reach. */
  private readonly bins: Float64Array;
  private readonly firstBin: number;
  /** Mean fourth root of the power of each band. */
  private readonly means: Float64Array;
  /** The power that this stands for, and its square. */
  private readonly power: Float64Array;
  private readonly squares: Float64Array;
  private readonly rate: number;

  /** @param size of the transforms; @param hop samples from one to the next */
  constructor(
    sampleRate: number,
    private readonly size: number,
    hop: number,
  ) {
    const top = Math.min(LAST_HZ, 0.46 * sampleRate);
    const count = Math.floor(DENSITY * Math.log2(top / FIRST_HZ)) + 1;
    this.hz = Float64Array.from({ length: count }, (_, band) => FIRST_HZ * 2 ** (band / DENSITY));
    this.bands = Array.from(this.hz, (hz) => bandAt(hz, sampleRate / size));
    const last = this.bands.at(-1)!;
    this.bins = new Float64Array(last.first + last.weights.length);
    this.firstBin = this.bands[0]!.first;
    this.means = new Float64Array(count);
    this.power = new Float64Array(count);
    this.squares = new Float64Array(count);
    this.rate = 1 - Math.exp(-hop / (MEAN_SECONDS * sampleRate));
  }

  /** Takes in a transform of left + i right (interleaved). */
  hear(spectrum: Float64Array): void {
    const { bands, means, power, squares, rate } = this;
    this.addUp(spectrum);
    for (let band = 0; band < bands.length; band++) {
      const now = Math.sqrt(Math.sqrt(this.powerOf(bands[band]!)));
      const mean = means[band]! + rate * (now - means[band]!);
      means[band] = mean < NOTHING ? 0 : mean;
      power[band] = mean ** 4;
      squares[band] = power[band]! ** 2;
    }
  }

  /** How far a band stands above its surroundings, dB; -Infinity when it is silent. */
  excessDb(band: number): number {
    const power = this.power[band]!;
    return power === 0 ? -Infinity : 10 * Math.log10(power / this.surroundings(band));
  }

  clear(): void {
    this.means.fill(0);
    this.power.fill(0);
    this.squares.fill(0);
  }

  /** Power of both channels in each bin: a bin of left + i right and its mirror image hold both. */
  private addUp(spectrum: Float64Array): void {
    const { bins, size } = this;
    for (let bin = this.firstBin; bin < bins.length; bin++) {
      const at = 2 * bin;
      const mirror = 2 * size - at;
      bins[bin] =
        (spectrum[at]! ** 2 + spectrum[at + 1]! ** 2 + spectrum[mirror]! ** 2 + spectrum[mirror + 1]! ** 2) / 2;
    }
  }

  private powerOf({ first, weights }: Band): number {
    const { bins } = this;
    let sum = 0;
    for (let n = 0; n < weights.length; n++) sum += weights[n]! * bins[first + n]!;
    return sum;
  }

  /** Power around a band. */
  private surroundings(band: number): number {
    const below = this.meanOf(band - FAR, band - NEAR);
    const above = this.meanOf(band + NEAR, band + FAR);
    if (below === null) return above ?? 0;
    if (above === null) return below;
    // On a slope the mean in dB is the line through both sides; where one side is missing it would be far too low.
    return Math.max(Math.sqrt(below * above), (SLOPE * (below + above)) / 2);
  }

  /** Root of the mean square of the power of some bands; null when too few are there. */
  private meanOf(first: number, last: number): number | null {
    const from = Math.max(0, first);
    const to = Math.min(this.bands.length - 1, last);
    if (to - from + 1 < FEWEST) return null;
    let sum = 0;
    for (let band = from; band <= to; band++) sum += this.squares[band]!;
    return Math.sqrt(sum / (to - from + 1));
  }
}
