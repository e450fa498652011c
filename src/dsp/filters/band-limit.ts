import { correlate } from '../../audio/correlate.ts';
import { kaiser, kaiserBeta, kaiserTaps } from '../../audio/kaiser.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';

/** Ripple and stop band that it is designed for, dB. Kaiser's formulas promise a little too much; 80 dB are reached. */
const STOP_BAND_DB = 84;
/** Where the stop band begins, in parts of the rate. */
const STOP = 0.487;

/** Upper end of the pass band, in parts of the rate: 20 kHz at least. */
const passOf = (sampleRate: number): number => Math.max(0.44, 20000 / sampleRate);

/** Delay, whole samples: the taps on either side of the middle one. Odd, so that with one 0 they fill tiles of four. */
export const bandLimitLatency = (sampleRate: number): number =>
  2 * Math.ceil((kaiserTaps(STOP_BAND_DB, 2 * Math.PI * (STOP - passOf(sampleRate))) + 1) / 4) - 1;

const tapsFor = (sampleRate: number): Float64Array => {
  const reach = bandLimitLatency(sampleRate);
  const beta = kaiserBeta(STOP_BAND_DB);
  const cutoff = passOf(sampleRate) + STOP; // both edges of a pass band half as wide
  const taps = new Float64Array(2 * reach + 2);
  for (let k = -reach; k <= reach; k++) {
    const angle = Math.PI * cutoff * k;
    taps[reach + k] = (k === 0 ? cutoff : (cutoff * Math.sin(angle)) / angle) * kaiser(k / reach, beta);
  }
  const sum = taps.reduce((total, tap) => total + tap, 0);
  return taps.map((tap) => tap / sum);
};

/**
 * Linear-phase low-pass of one channel that removes what lies so close to half the sample rate that no two interpolators
 * agree on the peaks between its samples. Up to 20 kHz it is flat within 0.001 dB.
 */
export class BandLimit {
  readonly latency: number;
  private readonly taps: Float64Array;
  /** Samples before the block, then the block, then one that only the last tap (0) meets. */
  private readonly samples: Float64Array;
  /** False until the first sample that is not 0. */
  private begun = false;

  constructor(sampleRate: number) {
    this.latency = bandLimitLatency(sampleRate);
    this.taps = tapsFor(sampleRate);
    this.samples = new Float64Array(2 * this.latency + CONTROL_FRAMES + 1);
  }

  /**
   * Takes input[start..end-1]; writes frames 0..end-start-1, late by the latency: to `limited` without the top of the band
   * (when `on`; else whole), and to `rest` the size of what was removed.
   */
  process(
    input: Float64Array,
    start: number,
    end: number,
    on: boolean,
    limited: Float64Array,
    rest: Float64Array,
  ): void {
    const { samples, latency } = this;
    const count = end - start;
    for (let k = 0; k < count; k++) samples[2 * latency + k] = input[start + k]!;
    if (on) correlate(this.taps, samples, 0, limited, 1, count);
    for (let k = 0; k < count; k++) {
      const whole = samples[latency + k]!;
      this.begun ||= whole !== 0;
      if (!on || !this.begun) limited[k] = whole;
      rest[k] = Math.abs(whole - limited[k]!);
    }
    samples.copyWithin(0, count, 2 * latency + count);
  }

  reset(): void {
    this.samples.fill(0);
    this.begun = false;
  }
}
