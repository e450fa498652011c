import { STEREO_PIECE, stereoKernel } from './kernels/stereo-kernel.ts';
import { LOWEST_RATE } from './loudness/k-weighting.ts';
import type { Levels } from './levels.ts';
import { channelWeights } from './loudness/loudness.ts';
import { OnsetMeter, type Onsets } from './onset-meter.ts';
import { SampleMeter, type SampleSeries } from './sample-meter.ts';
import { SpectrumMeter, type Spectrum } from './spectrum.ts';
import type { StereoSums } from './stereo/stereo.ts';
import { TruePeakMeter, type TruePeak } from './peaks/true-peak.ts';
import { subBlockStart, WeightedEnergyMeter, type WeightedEnergy } from './loudness/weighted-energy.ts';

/** Options of a meter: what is measured besides loudness and levels, or left out. */
export interface MeterOptions {
  /** Leaves out the stereo figures and the spectrum, which take most of the time. */
  readonly only?: 'loudness' | undefined;
  /** false where the spectrum is taken elsewhere, in another thread. */
  readonly spectrum?: boolean;
  /** What the details and the time series need: true peaks over time, and onsets. */
  readonly details?: boolean;
}

/**
 * Collects the sums for all figures from sound that comes piece by piece. Besides a few frames it keeps
 * only sums per 10 ms (8 to 10 kB for a second of stereo), and it
 * can be read at any time.
 */
export class Meter {
  private readonly samples: SampleMeter;
  /** null where K-weighting or the channel weights are not defined. */
  private readonly weighted: WeightedEnergyMeter | null;
  private readonly truePeaks: TruePeakMeter;
  private readonly spectra: SpectrumMeter | null;
  private subBlocks = 0;
  private count = 0;

  private readonly attacks: OnsetMeter | null;

  /** Set where only these figures are gathered. */
  readonly only: MeterOptions['only'];

  constructor(
    readonly sampleRate: number,
    readonly channels: number,
    { only, spectrum = true, details = false }: MeterOptions = {},
  ) {
    this.only = only;
    const isWeighted = sampleRate >= LOWEST_RATE && channelWeights(channels) !== null;
    this.samples = new SampleMeter(channels);
    this.weighted = isWeighted ? new WeightedEnergyMeter(sampleRate, channels) : null;
    this.truePeaks = new TruePeakMeter(channels, details ? sampleRate : null);
    this.attacks = details ? new OnsetMeter(sampleRate, channels) : null;
    this.spectra = spectrum && !only ? new SpectrumMeter(sampleRate, channels) : null;
  }

  /** Frames so far. */
  get frames(): number {
    return this.count;
  }

  /** Adds `count` frames of `channels` (channels x frames) from frame `from` on. */
  push(channels: readonly Float32Array[], from: number, count: number): void {
    const kernel = this.channels === 2 ? stereoKernel() : null;
    if (!kernel) {
      this.addToSums(channels, from, count);
    } else {
      const placed = [kernel.left, kernel.right];
      for (let at = from; at < from + count; at += STEREO_PIECE) {
        const length = Math.min(STEREO_PIECE, from + count - at);
        placed.forEach((samples, c) => samples.set(channels[c]!.subarray(at, at + length)));
        this.addToSums(placed, 0, length);
      }
    }
    this.truePeaks.push(channels, from, count);
    this.spectra?.push(channels, from, count);
    this.attacks?.push(channels, from, count);
  }

  /** Adds frames to all that is summed per 10 ms. */
  private addToSums(channels: readonly Float32Array[], from: number, count: number): void {
    const end = from + count;
    for (let at = from; at < end;) {
      const boundary = subBlockStart(this.subBlocks + 1, this.sampleRate);
      const length = Math.min(boundary - this.count, end - at);
      this.samples.add(channels, at, length);
      this.weighted?.add(channels, at, length);
      at += length;
      this.count += length;
      while (this.count === subBlockStart(this.subBlocks + 1, this.sampleRate)) this.endSubBlock();
    }
  }

  levels(): Levels {
    return this.samples.levels();
  }

  /** null where it is left out, and for any number of channels but two. */
  stereo(): StereoSums | null {
    return this.only ? null : this.samples.sums();
  }

  weightedEnergy(): WeightedEnergy | null {
    return this.weighted?.energy() ?? null;
  }

  /** Runs of clipped samples, of all channels together. */
  clippedRuns(): number {
    return this.samples.clippedRuns();
  }

  truePeak(): TruePeak {
    return this.truePeaks.peak();
  }

  /** Linear true peak of each whole 10 ms; null without details. */
  truePeakSeries(): Float64Array | null {
    return this.attacks && this.truePeaks.series();
  }

  /** null without details. */
  onsets(): Onsets | null {
    return this.attacks && this.attacks.onsets();
  }

  /** null when the spectrum is taken elsewhere. */
  spectrum(): Spectrum | null {
    return this.spectra?.spectrum() ?? null;
  }

  /** Sums per whole 10 ms. */
  series(): SampleSeries {
    return this.samples.series();
  }

  private endSubBlock(): void {
    this.samples.endSubBlock();
    this.weighted?.endSubBlock();
    this.subBlocks++;
  }
}
