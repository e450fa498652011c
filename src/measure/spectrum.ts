import FFT from 'fft.js';
import { framesOf, type Audio } from '../dsp/audio.ts';
import type { BandFigures } from './figures.ts';
import { energyRatioDb } from './stereo.ts';
import { sumIntoThirdOctaves, thirdOctavesBelow, type BandSums } from './third-octaves.ts';

/**
 * Long-term average spectrum in third octaves.
 *
 * Frames of at least half a second (the power of two from there: 32768 samples, 0.68 s, at 48 kHz), half overlapping,
 * under a sine window, the first beginning half a frame before the sound; powers averaged over the whole sound, with no
 * gate. The squares of overlapping windows add up to 1, so that the bands and the rest together hold exactly the energy
 * of the sound. Levels: rms 1.0 is 0 dB (a full-scale sine -3.01), channels summed.
 */
export interface Spectrum {
  /** Mean square in each band, summed over channels. */
  readonly level: BandSums;
  /** For two channels, the same of mid (L + R) / 2 and of side (L - R) / 2; level is twice their sum. Otherwise null. */
  readonly midSide: { readonly mid: BandSums; readonly side: BandSums } | null;
}

/** Longest frame, samples: enough for 384 kHz, and a bound on memory for any rate that a file may claim. */
const LONGEST = 2 ** 18;

/** Length of the frames at `sampleRate`, samples. */
export const spectrumFrame = (sampleRate: number): number =>
  Math.min(LONGEST, Math.max(64, 2 ** Math.ceil(Math.log2(sampleRate / 2))));

/** Spectrum of `audio` (channels x frames, at least one frame). */
export function spectrumOf(audio: Audio): Spectrum {
  const { sampleRate, channels } = audio;
  const frames = framesOf(audio);
  const size = spectrumFrame(sampleRate);
  const level = new Float64Array(size / 2 + 1);
  const toBands = (bins: Float64Array): BandSums => sumIntoThirdOctaves(bins, sampleRate);
  let midSide: Spectrum['midSide'] = null;
  for (let c = 0; c < channels.length; c += 2) {
    const { mid, side } = midSidePowers(channels[c]!, channels[c + 1] ?? new Float32Array(frames), size);
    for (let bin = 0; bin < level.length; bin++) level[bin] = level[bin]! + 2 * (mid[bin]! + side[bin]!);
    if (channels.length === 2) midSide = { mid: toBands(mid), side: toBands(side) };
  }
  return { level: toBands(level), midSide };
}

/** Less than this of the whole power (-240 dB) in a band is rounding of the transform: the band holds nothing. */
const NOTHING = 1e-24;

/** The figures of each band, as the command line prints them. */
export function bandFiguresOf({ level, midSide }: Spectrum, sampleRate: number): BandFigures[] {
  const floor = NOTHING * level.bands.reduce((sum, power) => sum + power, level.rest);
  const heard = (power: number): number => (power > floor ? power : 0);
  return thirdOctavesBelow(sampleRate).map(({ hz }, band) => {
    const power = heard(level.bands[band]!);
    return {
      hz,
      levelDb: power > 0 ? 10 * Math.log10(power) : null,
      sideToMidDb: midSide && energyRatioDb(heard(midSide.side.bands[band]!), heard(midSide.mid.bands[band]!)),
    };
  });
}

/** Plans of the transform by size: their tables cost more than a transform. */
const plans = new Map<number, FFT>();

function planOf(size: number): FFT {
  const plan = plans.get(size) ?? new FFT(size);
  plans.set(size, plan);
  return plan;
}

/** First frames of the half-overlapping windows over a sound of `frames`: from half a window before it to its end. */
export const windowStarts = (frames: number, size: number): number[] =>
  Array.from({ length: Math.ceil(frames / (size / 2)) + 1 }, (_, n) => (n - 1) * (size / 2));

/**
 * A transformer of windowed frames of mid + i side (2 x size numbers, the same array each time): mid and side are the
 * parts of the transform that are even and odd under conjugation, so one complex transform serves both.
 */
export function midSideTransformer(
  size: number,
): (left: Float32Array, right: Float32Array, start: number) => Float64Array {
  const window = Float64Array.from({ length: size }, (_, n) => Math.sin((Math.PI * (n + 0.5)) / size));
  const plan = planOf(size);
  const data = new Float64Array(2 * size);
  const out = new Float64Array(2 * size);
  return (left, right, start) => {
    loadMidSide(left, right, start, window, data);
    plan.transform(out, data);
    return out;
  };
}

/** Turns summed squares of a bin (0 .. size / 2) into mean power, both signs of frequency together. */
export function scaleToPower(bins: Float64Array, size: number, frames: number): void {
  for (let bin = 0; bin < bins.length; bin++) {
    bins[bin] = (bins[bin]! * (bin === 0 || bin === size / 2 ? 1 : 2)) / (size * frames);
  }
}

/** Mean power per bin (0 .. size / 2) of mid and side of two channels. */
function midSidePowers(
  left: Float32Array,
  right: Float32Array,
  size: number,
): { mid: Float64Array; side: Float64Array } {
  const mid = new Float64Array(size / 2 + 1);
  const side = new Float64Array(size / 2 + 1);
  const transform = midSideTransformer(size);
  for (const start of windowStarts(left.length, size)) addPowers(transform(left, right, start), mid, side);
  scaleToPower(mid, size, left.length);
  scaleToPower(side, size, left.length);
  return { mid, side };
}

/** Writes the windowed frame from `start` on as mid + i side into `data`, silence where there are no samples. */
function loadMidSide(
  left: Float32Array,
  right: Float32Array,
  start: number,
  window: Float64Array,
  data: Float64Array,
): void {
  data.fill(0);
  const end = Math.min(window.length, left.length - start);
  for (let n = Math.max(0, -start); n < end; n++) {
    const gain = 0.5 * window[n]!;
    const l = left[start + n]!;
    const r = right[start + n]!;
    data[2 * n] = gain * (l + r);
    data[2 * n + 1] = gain * (l - r);
  }
}

/** Adds the squared sizes of the two real signals that `out`, a transform of one plus i times the other, holds. */
function addPowers(out: Float64Array, first: Float64Array, second: Float64Array): void {
  const size = out.length / 2;
  for (let bin = 0; bin <= size / 2; bin++) {
    const mirror = bin === 0 ? 0 : size - bin;
    const re = out[2 * bin]!;
    const im = out[2 * bin + 1]!;
    const mirrorRe = out[2 * mirror]!;
    const mirrorIm = out[2 * mirror + 1]!;
    first[bin] = first[bin]! + ((re + mirrorRe) ** 2 + (im - mirrorIm) ** 2) / 4;
    second[bin] = second[bin]! + ((im + mirrorIm) ** 2 + (re - mirrorRe) ** 2) / 4;
  }
}
