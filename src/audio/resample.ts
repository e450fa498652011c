import { wholeOf, type Audio, type Sound } from './audio.ts';
import { besselI0, kaiserBeta } from './kaiser.ts';
import type { Samples } from './samples.ts';

/** What a conversion keeps and keeps out. */
interface Filter {
  /** Stop-band attenuation that the window is designed for, dB. */
  readonly stopBandDb: number;
  /** Where the pass band ends, in parts of the lower Nyquist frequency. The stop band begins at 1. */
  readonly passBand: number;
}

/** For sound that is heard: 20 kHz at 44.1 kHz. */
const HEARD: Filter = { stopBandDb: 130, passBand: 20 / 22.05 };
/** For sound that is only looked at: a fifth of the work. */
export const LOOKED_AT: Filter = { stopBandDb: 60, passBand: 0.8 };
/** Ratios that need more phases than this (from odd rates) are interpolated between phases; the error is below -140 dB. */
const MAX_PHASES = 4096;

/** A low-pass at one of many fractional delays: row p holds the coefficients for a delay of p / phases samples. */
interface PhaseTable {
  readonly phases: number;
  /** Samples before and after the wanted instant that count. */
  readonly half: number;
  /** (phases + 1) rows of 2 half coefficients each. */
  readonly rows: Float64Array;
}

const gcd = (a: number, b: number): number => (b === 0 ? a : gcd(b, a % b));

/**
 * Windowed sinc with Kaiser's window and design formulas (Kaiser 1974). Each row is scaled to a sum of 1, so that a
 * constant stays what it is at every phase.
 *
 * @param ratio lower of the two rates / input rate
 */
function buildPhases(phases: number, ratio: number, { stopBandDb, passBand }: Filter): PhaseTable {
  const beta = kaiserBeta(stopBandDb);
  const width = Math.PI * ratio * (1 - passBand);
  const half = Math.ceil((stopBandDb - 7.95) / (2.285 * width) / 2);
  const cutoff = (ratio * (1 + passBand)) / 2; // in parts of the input's Nyquist frequency
  const taps = 2 * half;
  const rows = new Float64Array((phases + 1) * taps);
  const unity = besselI0(beta);
  for (let p = 0; p <= phases; p++) {
    const row = rows.subarray(p * taps, (p + 1) * taps);
    let sum = 0;
    for (let k = 0; k < taps; k++) {
      const t = k - (half - 1) - p / phases;
      const angle = Math.PI * cutoff * t;
      const sinc = t === 0 ? 1 : Math.sin(angle) / angle;
      row[k] = sinc * (besselI0(beta * Math.sqrt(Math.max(0, 1 - (t / half) ** 2))) / unity);
      sum += row[k]!;
    }
    for (let k = 0; k < taps; k++) row[k]! /= sum;
  }
  return { phases, half, rows };
}

/** One channel on its way from the input to the output rate: output n is the input at instant n * down / up. */
interface Conversion {
  readonly table: PhaseTable;
  readonly up: number;
  readonly down: number;
  /** A stretch of the input with silence before and after it, from its sample `paddedFrom` on. */
  readonly padded: Float64Array;
  readonly paddedFrom: number;
  /** A stretch of the output, from its sample `outputFrom` on. */
  readonly output: Float32Array;
  readonly outputFrom: number;
}

/** Puts the row for a delay between row `whole` and the next into `mixed`, by linear interpolation. */
function mixRows({ rows, half }: PhaseTable, whole: number, between: number, mixed: Float64Array): void {
  const a = 2 * half * whole;
  const b = a + 2 * half;
  for (let k = 0; k < mixed.length; k++) mixed[k] = rows[a + k]! + between * (rows[b + k]! - rows[a + k]!);
}

/**
 * Fills `count` outputs from `from` on in each of four places `stride` apart. The stride is a multiple of `up`, so the
 * four share their coefficients, and four sums that do not wait for each other keep the processor busy.
 */
function fillFour(conversion: Conversion, from: number, count: number, stride: number): void {
  const { table, up, down, padded, paddedFrom, output, outputFrom } = conversion;
  const { phases, half, rows } = table;
  const taps = 2 * half;
  const mixed = new Float64Array(taps);
  const hop = (stride / up) * down;
  for (let n = from; n < from + count; n++) {
    const part = (n * down) % up; // fraction of the instant, in 1 / up
    const phase = (part * phases) / up;
    const whole = Math.floor(phase);
    const exact = phase === whole;
    if (!exact) mixRows(table, whole, phase - whole, mixed);
    const coefficients = exact ? rows : mixed;
    const row = exact ? whole * taps : 0;
    let [a, b, c, d] = [0, 0, 0, 0];
    for (let k = 0, i = (n * down - part) / up - paddedFrom; k < taps; k++, i++) {
      const h = coefficients[row + k]!;
      a += h * padded[i]!;
      b += h * padded[i + hop]!;
      c += h * padded[i + 2 * hop]!;
      d += h * padded[i + 3 * hop]!;
    }
    const at = n - outputFrom;
    output[at] = a;
    output[at + stride] = b;
    output[at + 2 * stride] = c;
    output[at + 3 * stride] = d;
  }
}

/** One channel at another rate, worked out as it is read. */
class ResampledSamples implements Samples {
  readonly length: number;

  constructor(
    private readonly input: Samples,
    private readonly up: number,
    private readonly down: number,
    private readonly table: PhaseTable,
  ) {
    this.length = Math.ceil((input.length * up) / down);
  }

  subarray(from: number, to: number): Float32Array {
    const { up, down, table } = this;
    const output = new Float32Array(to - from);
    if (to <= from) return output;
    const paddedFrom = Math.floor((from * down) / up);
    const padded = this.padded(paddedFrom, Math.floor(((to - 1) * down) / up) + 2 * table.half);
    const conversion = { table, up, down, padded, paddedFrom, output, outputFrom: from };
    const stride = Math.floor(output.length / (4 * up)) * up;
    fillFour(conversion, from, stride, stride);
    // What four equal strides leave over: the four places are then one and the same.
    fillFour(conversion, from + 4 * stride, output.length - 4 * stride, 0);
    return output;
  }

  /** Samples from..to-1 of the input with `half` - 1 samples of silence before it. */
  private padded(from: number, to: number): Float64Array {
    const { input, table } = this;
    const before = table.half - 1;
    const padded = new Float64Array(to - from);
    const first = Math.max(0, from - before);
    const last = Math.min(input.length, to - before);
    if (first < last) padded.set(input.subarray(first, last), first + before - from);
    return padded;
  }
}

/**
 * Converts the sample rate: linear phase and no delay (sample 0 stays at the same instant), flat to 20 kHz for 44.1 kHz
 * and to 0.907 of the lower Nyquist frequency in general, stop band of 120 dB and more from that Nyquist frequency on
 * (LOOKED_AT: to 0.8 of it, 60 dB).
 * Before and after the audio there is silence, so an abrupt start or end rings. Peaks may rise above full scale.
 *
 * @param rate Hz, a whole number; at the audio's own rate the audio itself is returned
 * @returns audio of ceil(frames * rate / audio.sampleRate) frames
 * @throws RangeError if a rate is not a positive whole number
 */
export function resample(audio: Audio, rate: number, filter = HEARD): Audio {
  return wholeOf(resampled(audio, rate, filter));
}

/** The same, worked out as it is read. @throws RangeError as `resample` */
export function resampled(audio: Sound, rate: number, filter = HEARD): Sound {
  if (rate === audio.sampleRate) return audio;
  for (const hz of [rate, audio.sampleRate]) {
    if (!Number.isSafeInteger(hz) || hz < 1)
      throw new RangeError(`sample rate must be a whole number of Hz, not ${hz}`);
  }
  const divisor = gcd(rate, audio.sampleRate);
  const up = rate / divisor;
  const down = audio.sampleRate / divisor;
  const table = buildPhases(Math.min(up, MAX_PHASES), Math.min(1, rate / audio.sampleRate), filter);
  return {
    sampleRate: rate,
    channels: audio.channels.map((channel) => new ResampledSamples(channel, up, down, table)),
  };
}
