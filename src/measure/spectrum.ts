import { framesOf, type Audio } from '../audio/audio.ts';
import { isSilent } from '../audio/silence.ts';
import type { BandFigures } from './figures.ts';
import { midSideTransformer, OVERLAP } from './stereo/mid-side-transform.ts';
import { energyRatioDb } from './stereo/stereo.ts';
import { sumIntoThirdOctaves, thirdOctavesBelow, type BandSums } from './third-octaves.ts';

/**
 * Long-term average spectrum in third octaves.
 *
 * Frames of at least half a second (the power of two from there: 32768 samples, 0.68 s, at 48 kHz), each overlapping
 * its neighbours by a quarter; powers averaged over the whole sound, with no gate. The squares of overlapping windows
 * add up to 1, so that the bands and the rest together hold exactly the energy of the sound. Slopes of a quarter, as
 * smooth as they are here, keep tones as far apart as a sine window over half-overlapping frames does, with two thirds
 * of the transforms. Levels: rms 1.0 is 0 dB (a full-scale sine -3.01), channels summed.
 */
export interface Spectrum {
  /** Mean square in each band, summed over channels. */
  readonly level: BandSums;
  /** For two channels, the same of mid (L + R) / 2 and of side (L - R) / 2; level is twice their sum. Otherwise null. */
  readonly midSide: { readonly mid: BandSums; readonly side: BandSums } | null;
  /** For two channels, what lies below LOWS: mean squares of left and right and their mean product. */
  readonly lows?: { readonly left: number; readonly right: number; readonly cross: number } | null;
}

export { midSideTransformer };

/** Upper limit of the lows, Hz: below it tracks are usually centred, and loudspeakers often mono. */
export const LOWS = 120;

/** Longest frame, samples: enough for 384 kHz, and a bound on memory for any rate that a file may claim. */
const LONGEST = 2 ** 18;

/** Length of the frames at `sampleRate`, samples. */
export const spectrumFrame = (sampleRate: number): number =>
  Math.min(LONGEST, Math.max(64, 2 ** Math.ceil(Math.log2(sampleRate / 2))));

/** Spectrum of `audio` (channels x frames, at least one frame). */
export function spectrumOf(audio: Audio): Spectrum {
  const meter = new SpectrumMeter(audio.sampleRate, audio.channels.length);
  meter.push(audio.channels, 0, framesOf(audio));
  return meter.spectrum();
}

/** Summed squares of the bins of mid and of side of two channels. */
interface MidSide {
  readonly mid: Float64Array;
  readonly side: Float64Array;
  /** Summed products of mid and side of the bins below LOWS. */
  readonly cross: Float64Array;
}

/** The long-term spectrum of sound that comes piece by piece; memory does not grow with its length. */
export class SpectrumMeter {
  private readonly size: number;
  private readonly transform: ReturnType<typeof midSideTransformer>;
  /** The frame being filled, for each channel, and a silent one beside an odd last one. */
  private readonly current: readonly Float32Array[];
  private readonly pairs: readonly MidSide[];
  private filled: number;
  private frames = 0;

  constructor(
    private readonly sampleRate: number,
    private readonly channels: number,
  ) {
    this.size = spectrumFrame(sampleRate);
    this.filled = this.size * OVERLAP;
    this.transform = midSideTransformer(this.size);
    const count = Math.ceil(channels / 2);
    this.current = Array.from({ length: 2 * count }, () => new Float32Array(this.size));
    this.pairs = Array.from({ length: count }, () => this.noPowers());
  }

  /** Adds `count` frames of `channels` (channels x frames) from frame `from` on. */
  push(channels: readonly Float32Array[], from: number, count: number): void {
    const { current, size } = this;
    this.frames += count;
    for (let at = from; at < from + count;) {
      const length = Math.min(size - this.filled, from + count - at);
      for (let c = 0; c < this.channels; c++) current[c]!.set(channels[c]!.subarray(at, at + length), this.filled);
      at += length;
      this.filled += length;
      if (this.filled < size) continue;
      this.addFrame(current, this.pairs);
      this.filled = size * OVERLAP;
      for (let c = 0; c < this.channels; c++) current[c]!.copyWithin(0, size - this.filled);
    }
  }

  /** The spectrum of all that was pushed (at least one frame); more may follow. */
  spectrum(): Spectrum {
    const powers = this.pairs.map(({ mid, side, cross }) => ({
      mid: mid.slice(),
      side: side.slice(),
      cross: cross.slice(),
    }));
    const end = this.current.map((samples) => samples.slice().fill(0, this.filled));
    this.addFrame(end, powers);
    // Samples under the falling slope need one more frame for their other part.
    if (this.filled > this.size * (1 - OVERLAP)) {
      for (const samples of end) samples.copyWithin(0, this.size * (1 - OVERLAP)).fill(0, this.size * OVERLAP);
      this.addFrame(end, powers);
    }
    const toBands = (bins: Float64Array): BandSums => sumIntoThirdOctaves(bins, this.sampleRate);
    const level = new Float64Array(this.size / 2 + 1);
    for (const { mid, side, cross } of powers) {
      for (const bins of [mid, side, cross]) scaleToPower(bins, this.size, this.frames);
      for (let bin = 0; bin < level.length; bin++) level[bin] = level[bin]! + 2 * (mid[bin]! + side[bin]!);
    }
    const [first] = powers;
    const midSide = first && this.channels === 2 ? { mid: toBands(first.mid), side: toBands(first.side) } : null;
    return { level: toBands(level), midSide, lows: first && this.channels === 2 ? lowsOf(first) : null };
  }

  private addFrame(samples: readonly Float32Array[], pairs: readonly MidSide[]): void {
    pairs.forEach(({ mid, side, cross }, n) => {
      // Silence adds nothing.
      if (isSilent(samples[2 * n]!) && isSilent(samples[2 * n + 1]!)) return;
      const out = this.transform(samples[2 * n]!, samples[2 * n + 1]!, 0);
      addPowers(out, mid, side);
      addCross(out, cross);
    });
  }

  private noPowers(): MidSide {
    const bins = (count: number): Float64Array => new Float64Array(count);
    const lows = Math.min(this.size / 2, Math.ceil((LOWS * this.size) / this.sampleRate));
    return { mid: bins(this.size / 2 + 1), side: bins(this.size / 2 + 1), cross: bins(lows) };
  }
}

/** Adds the products of mid and side, as addPowers does their squares. */
function addCross(out: Float64Array, cross: Float64Array): void {
  const size = out.length / 2;
  for (let bin = 0; bin < cross.length; bin++) {
    const mirror = bin === 0 ? 0 : size - bin;
    const [re, im] = [out[2 * bin]!, out[2 * bin + 1]!];
    const [mirrorRe, mirrorIm] = [out[2 * mirror]!, out[2 * mirror + 1]!];
    cross[bin] = cross[bin]! + ((re + mirrorRe) * (im + mirrorIm) + (im - mirrorIm) * (mirrorRe - re)) / 4;
  }
}

/** Left is mid + side and right mid - side, so their energies are those of mid and side and twice the product. */
function lowsOf({ mid, side, cross }: MidSide): NonNullable<Spectrum['lows']> {
  const lows = { left: 0, right: 0, cross: 0 };
  cross.forEach((product, bin) => {
    lows.left += Math.max(0, mid[bin]! + side[bin]! + 2 * product);
    lows.right += Math.max(0, mid[bin]! + side[bin]! - 2 * product);
    lows.cross += mid[bin]! - side[bin]!;
  });
  return lows;
}

/** A band below this part of the whole power (-240 dB) contains only rounding of the transform, and counts as empty. */
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

/**
 * First frames of the windows over a sound of `frames`. The first is level where the sound begins, and the last is the
 * first whose level part or slope reaches its end.
 */
export function windowStarts(frames: number, size: number): number[] {
  const hop = size * (1 - OVERLAP);
  const count = Math.ceil(Math.max(0, frames - (size - 2 * size * OVERLAP)) / hop) + 1;
  return Array.from({ length: count }, (_, n) => n * hop - size * OVERLAP);
}

/** Turns summed squares of a bin (0 .. size / 2) into mean power, both signs of frequency together. */
function scaleToPower(bins: Float64Array, size: number, frames: number): void {
  for (let bin = 0; bin < bins.length; bin++) {
    bins[bin] = (bins[bin]! * (bin === 0 || bin === size / 2 ? 1 : 2)) / (size * frames);
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
