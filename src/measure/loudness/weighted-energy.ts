import { framesOf, stretchOf, type Sound } from '../../audio/audio.ts';
import { finished } from '../../audio/steps.ts';
import { KWeighting, StereoKWeighting, type StereoEnergy } from './k-weighting.ts';
import { Series } from '../series.ts';

/** K-weighted energy of a sound in 10 ms sub-blocks: all loudness figures are sums over this one series. */
export interface WeightedEnergy {
  readonly sampleRate: number;
  /** Number of whole sub-blocks; the arrays also contain an incomplete last one. */
  readonly whole: number;
  /** For each channel and sub-block, the sum of squares of the K-weighted samples. */
  readonly channels: readonly Float64Array[];
  /** For two channels: for each sub-block, the sum of products of left and right, both K-weighted. Otherwise null. */
  readonly cross: Float64Array | null;
}

/**
 * First frame of 10 ms sub-block `index`. Where 10 ms is no whole number of samples (22.05 or 11.025 kHz) every
 * boundary is rounded on its own, so that errors do not add up.
 */
export const subBlockStart = (index: number, sampleRate: number): number => Math.round((index * sampleRate) / 100);

/** How many sub-blocks of 10 ms lie wholly within the first `frames`. */
export function wholeSubBlocks(frames: number, sampleRate: number): number {
  let whole = Math.floor((frames * 100) / sampleRate);
  while (subBlockStart(whole + 1, sampleRate) <= frames) whole++;
  while (subBlockStart(whole, sampleRate) > frames) whole--;
  return whole;
}

/**
 * Series of `audio` (channels x frames).
 * @throws RangeError when the sample rate is below LOWEST_RATE of k-weighting.ts.
 */
export const weightedEnergyOf = (audio: Sound): WeightedEnergy => finished(weightedEnergySteps(audio));

/** Sub-blocks in a step. */
const STEP = 16;

/** The same step by step; each step yields the part done, 0..1. */
export function* weightedEnergySteps(audio: Sound): Generator<number, WeightedEnergy> {
  const { sampleRate, channels } = audio;
  const meter = new WeightedEnergyMeter(sampleRate, channels.length);
  const frames = framesOf(audio);
  for (let from = 0, block = 1; from < frames; block++) {
    const to = Math.min(frames, subBlockStart(block, sampleRate));
    meter.add(stretchOf(audio, from, to).channels, 0, to - from);
    if (to === subBlockStart(block, sampleRate)) meter.endSubBlock();
    from = to;
    if (block % STEP === 0) yield from / frames;
  }
  return meter.energy();
}

/** All of the energy: over the whole sound and all its channels. */
export const totalEnergy = ({ channels }: WeightedEnergy): number =>
  channels.reduce((sum, series) => series.reduce((total, value) => total + value, sum), 0);

/** K-weighted energy of sound that comes piece by piece. The caller ends each sub-block. */
export class WeightedEnergyMeter {
  private readonly both: StereoKWeighting | null;
  private readonly filters: readonly KWeighting[];
  private readonly weighted: Float64Array;
  private readonly series: readonly Series[];
  private readonly cross: Series | null;
  /** Energies of the sub-block that has begun. */
  private readonly sums: Float64Array;
  private readonly stereo: StereoEnergy = { left: 0, right: 0, cross: 0 };
  private begun = false;

  /** @throws RangeError when the sample rate is below LOWEST_RATE of k-weighting.ts. */
  constructor(
    private readonly sampleRate: number,
    channels: number,
  ) {
    this.both = channels === 2 ? new StereoKWeighting(sampleRate) : null;
    this.filters = this.both ? [] : Array.from({ length: channels }, () => new KWeighting(sampleRate));
    this.weighted = new Float64Array(Math.ceil(sampleRate / 100) + 1);
    this.series = Array.from({ length: channels }, () => new Series());
    this.cross = this.both ? new Series() : null;
    this.sums = new Float64Array(channels);
  }

  /** Adds `count` frames of `channels` from frame `from` on, all of one sub-block. */
  add(channels: readonly Float32Array[], from: number, count: number): void {
    this.begun = true;
    if (this.both) {
      this.both.add(channels[0]!, channels[1]!, from, count, this.stereo);
      return;
    }
    for (let c = 0; c < channels.length; c++) {
      this.filters[c]!.process(channels[c]!, from, count, this.weighted);
      this.sums[c] = energyOf(this.weighted, count, this.sums[c]!);
    }
  }

  endSubBlock(): void {
    const { series, stereo, sums } = this;
    if (this.cross) {
      series[0]!.push(stereo.left);
      series[1]!.push(stereo.right);
      this.cross.push(stereo.cross);
      stereo.left = stereo.right = stereo.cross = 0;
    } else {
      series.forEach((each, c) => each.push(sums[c]!));
      sums.fill(0);
    }
    this.begun = false;
  }

  /** The energies so far; an incomplete sub-block is last. */
  energy(): WeightedEnergy {
    const { cross, stereo, sums, begun } = this;
    const withEnd = (series: Series, end: number): Float64Array =>
      begun ? joined(series.values(), end) : series.values().slice();
    const ends = cross ? [stereo.left, stereo.right] : sums;
    return {
      sampleRate: this.sampleRate,
      whole: this.series[0]?.values().length ?? 0,
      channels: this.series.map((series, c) => withEnd(series, ends[c]!)),
      cross: cross && withEnd(cross, stereo.cross),
    };
  }
}

function joined(values: Float64Array, end: number): Float64Array {
  const out = new Float64Array(values.length + 1);
  out.set(values);
  out[values.length] = end;
  return out;
}

/** `sum` plus the energy of `samples`, accumulated in order, so that pieces of any length give the same to the last bit. */
function energyOf(samples: Float64Array, count: number, sum: number): number {
  for (let n = 0; n < count; n++) sum += samples[n]! * samples[n]!;
  return sum;
}
