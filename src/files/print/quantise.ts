import type { Samples } from '../../audio/samples.ts';

/** Least length of a run of samples that are all exact at the word length, to be written without dither. */
const EXACT_STRETCH_SECONDS = 0.01;

/**
 * Noise shaping at 44.1 and 48 kHz: the error of sample n - 1 - k goes into sample n with weight -SHAPING[k], so that its spectrum follows
 * 1 - sum SHAPING[k] z^-(k+1), lowest where hearing is most sensitive. The five-coefficient filter of Lipshitz, Vanderkooy and Wannamaker, "Minimally
 * audible noise shaping", J. Audio Eng. Soc. 39 (1991), made for 44.1 kHz; its values as SoX and FFmpeg have them under the first author's name.
 */
export const SHAPING = [2.033, -2.165, 1.959, -1.59, 0.6149] as const;

/** Sample rates for which the noise shaping is designed, Hz; at 48 kHz its curve is shifted up by 9 %. */
export const SHAPED_RATES: readonly number[] = [44_100, 48_000];

/** Options of `quantise`. */
interface QuantiseOptions {
  /** Hz; says how many samples make a stretch. */
  readonly sampleRate: number;
  /** Start of the dither's random sequence, so that the same input gives the same file. */
  readonly seed: number;
  /** Shapes the noise with `SHAPING`; white unless given. */
  readonly shaped?: boolean;
}

/** Integer samples and the number of samples that exceeded full scale and were clipped. */
export interface Quantised {
  readonly samples: Int32Array;
  readonly limitedSamples: number;
}

/** Uniform random numbers in [0, 1), reproducible: a 32 bit multiply-and-shift mix over a counter of period 2^32. */
function uniform(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x9e3779b9) | 0;
    let z = state;
    z = Math.imul(z ^ (z >>> 16), 0x85ebca6b);
    z = Math.imul(z ^ (z >>> 13), 0xc2b2ae35);
    return ((z ^ (z >>> 16)) >>> 0) / 0x100000000;
  };
}

const isWhole = (x: number): boolean => x === Math.round(x);

/** End of the run of samples from `from` on that are exact at the word length. */
function endOfExact(input: Float32Array, from: number, scale: number): number {
  let end = from;
  while (end < input.length && isWhole(input[end]! * scale)) end++;
  return end;
}

/** Quantises one channel as `quantise` does, stretch by stretch, in order; stretches may be of any length. */
export class Quantiser {
  private readonly scale: number;
  private readonly stretch: number;
  private readonly random: () => number;
  /** Frames that are done. */
  private done = 0;
  /** Known end of the exact run that contains the next sample. */
  private exactEnd = 0;
  private undithered = false;
  /** Errors of the previous samples, the last first, LSB; null: the noise is white. */
  private readonly errors: Float64Array | null;

  constructor(
    private readonly input: Samples,
    bits: 16 | 24,
    { sampleRate, seed, shaped = false }: QuantiseOptions,
  ) {
    this.errors = shaped ? new Float64Array(SHAPING.length) : null;
    this.scale = 2 ** (bits - 1);
    this.stretch = Math.ceil(EXACT_STRETCH_SECONDS * sampleRate);
    this.random = uniform(seed);
  }

  /** The next `frames` samples; no more than there are. */
  next(frames: number): Quantised {
    const { input, scale, stretch, random } = this;
    const from = this.done;
    this.done += frames;
    // Samples after these that are needed to know whether a run is long enough.
    const ahead = input.subarray(from, Math.min(input.length, this.done + stretch));
    const samples = new Int32Array(frames);
    let limitedSamples = 0;
    let exactEnd = this.exactEnd - from;
    for (let i = 0; i < frames; i++) {
      if (i >= exactEnd) {
        const end = endOfExact(ahead, i, scale);
        // A run that ends here may have begun long before.
        const goesOn = this.undithered && i === exactEnd && end > i;
        this.undithered = goesOn || end - i >= stretch;
        exactEnd = Math.max(end, i + 1);
      }
      const value = ahead[i]! * scale;
      const dither = this.undithered ? 0 : random() - random();
      const wanted = this.undithered ? value : value - this.fedBack();
      const rounded = Math.round(wanted + dither);
      this.remember(rounded - wanted);
      samples[i] = Math.min(scale - 1, Math.max(-scale, rounded));
      const nearest = Math.round(value);
      if (nearest < -scale || nearest > scale - 1) limitedSamples++;
    }
    this.exactEnd = exactEnd + from;
    return { samples, limitedSamples };
  }

  /** Weighted sum of the previous errors, subtracted from the next sample, LSB. */
  private fedBack(): number {
    const { errors } = this;
    if (errors === null) return 0;
    let sum = 0;
    for (let k = 0; k < SHAPING.length; k++) sum += SHAPING[k]! * errors[k]!;
    return sum;
  }

  private remember(error: number): void {
    const { errors } = this;
    if (errors === null) return;
    errors.copyWithin(1, 0);
    errors[0] = error;
  }
}

/**
 * Turns samples into integers of `bits` bits with triangular dither, 2 LSB peak to peak (TPDF: the total error is LSB²/4
 * whatever the signal, its mean 0; Lipshitz, Wannamaker and Vanderkooy 1992), or that noise shaped. Dither belongs once, at the last step.
 *
 * Stretches of 10 ms or more in which every sample is exact at this word length have no error to be made independent,
 * so they are written unchanged: digital silence stays silent, and an untouched 16 bit take comes back bit for bit.
 *
 * @param input one channel, full scale 1; values beyond it are clipped to [-2^(bits-1), 2^(bits-1) - 1]
 * @returns as many integers; a sample counts as clipped if it would be out of range even without dither
 */
export const quantise = (input: Float32Array, bits: 16 | 24, options: QuantiseOptions): Quantised =>
  new Quantiser(input, bits, options).next(input.length);
