import { isSilent } from '../../audio/silence.ts';
import { REACH } from './interpolation.ts';
import { truePeakKernel } from '../kernels/true-peak-kernel.ts';
import { Series } from '../series.ts';
import { plainTruePeakIn, type FoundPeak } from './true-peak-search.ts';
import { subBlockStart } from '../loudness/weighted-energy.ts';

/**
 * True peak (BS.1770-5 Annex 2: interpolate, take the greatest size), read on a grid of 32 steps a sample;
 * see true-peak-search.ts.
 *
 * Sound that is strong right up to half the sample rate (raw white noise, a sample-wise random square) has no true
 * peak that two interpolators agree on: there the reading stays below that of an ideal, endless one.
 */
export interface TruePeak {
  /** Greatest size, linear, at least that of the greatest sample. */
  readonly value: number;
  /** Where: channel, and frame (a multiple of 1/32). */
  readonly channel: number;
  readonly frame: number;
}

/** True peak over all `channels` (channels x frames; silence before and after). 0 at channel 0, frame 0 for silence. */
export function truePeakOf(channels: readonly Float32Array[]): TruePeak {
  let peak: TruePeak = { value: 0, channel: 0, frame: 0 };
  channels.forEach((samples, channel) => {
    const found = truePeakIn(samples, peak.value);
    if (found) peak = { ...found, channel };
  });
  return peak;
}

/** True peak of sound that comes piece by piece; memory does not grow with its length. */
export class TruePeakMeter {
  private readonly buffers: readonly Float32Array[];
  private filled = 0;
  /** Frame of the sound at which the buffers begin, and the first frame that is not yet searched. */
  private start = 0;
  private next = -1;
  private best: TruePeak = { value: 0, channel: 0, frame: 0 };
  private readonly perSubBlock = new Series();

  /** @param seriesRate sample rate where the true peak of each 10 ms is wanted too; that takes about twice the time */
  constructor(
    channels: number,
    private readonly seriesRate: number | null = null,
  ) {
    this.buffers = Array.from({ length: channels }, () => new Float32Array(GATHERED));
  }

  /** Adds `count` frames of `channels` (channels x frames) from frame `from` on. */
  push(channels: readonly Float32Array[], from: number, count: number): void {
    for (let at = from; at < from + count;) {
      const length = Math.min(GATHERED - this.filled, from + count - at);
      this.buffers.forEach((buffer, c) => buffer.set(channels[c]!.subarray(at, at + length), this.filled));
      at += length;
      this.filled += length;
      if (this.filled === GATHERED) this.advance();
    }
  }

  /** True peak of all so far, with silence after it; more may follow. */
  peak(): TruePeak {
    const end = this.buffers.map((buffer) => buffer.subarray(0, this.filled));
    return this.higher(end, this.next, this.filled);
  }

  /** Linear true peak of each whole 10 ms of all so far, of any channel; empty if it was not asked for. */
  series(): Float64Array {
    const done = this.perSubBlock.values();
    if (this.seriesRate === null) return done;
    const rest: number[] = [];
    const end = this.buffers.map((buffer) => buffer.subarray(0, this.filled));
    while (this.subBlockEnd(done.length + rest.length) <= this.filled) {
      rest.push(this.peakOfSubBlock(end, done.length + rest.length));
    }
    const all = new Float64Array(done.length + rest.length);
    all.set(done);
    all.set(rest, done.length);
    return all;
  }

  /** Where sub-block `index` ends in the buffers. */
  private subBlockEnd(index: number): number {
    return subBlockStart(index + 1, this.seriesRate!) - this.start;
  }

  private peakOfSubBlock(buffers: readonly Float32Array[], index: number): number {
    const [from, to] = [subBlockStart(index, this.seriesRate!) - this.start, this.subBlockEnd(index)];
    const around = [Math.max(0, from - REACH - 1), Math.min(this.filled, to + REACH + 1)] as const;
    if (buffers.every((samples) => isSilent(samples, ...around))) return 0;
    return buffers.reduce((peak, samples) => truePeakIn(samples, peak, from, to)?.value ?? peak, 0);
  }

  /** Searches all frames whose surroundings are known, and keeps the samples that the rest needs. */
  private advance(): void {
    const to = GATHERED - REACH;
    this.best = this.higher(this.buffers, this.next, to);
    if (this.seriesRate !== null) {
      for (let n = this.perSubBlock.values().length; this.subBlockEnd(n) <= to; n++) {
        this.perSubBlock.push(this.peakOfSubBlock(this.buffers, n));
      }
    }
    const kept = 2 * REACH + (this.seriesRate === null ? 0 : Math.ceil(this.seriesRate / 100) + 1);
    for (const buffer of this.buffers) buffer.copyWithin(0, GATHERED - kept);
    this.start += GATHERED - kept;
    this.next = to - (GATHERED - kept);
    this.filled = kept;
  }

  private higher(buffers: readonly Float32Array[], from: number, to: number): TruePeak {
    let { best } = this;
    buffers.forEach((samples, channel) => {
      if (isSilent(samples)) return;
      const found = truePeakIn(samples, best.value, from, to);
      if (found) best = { value: found.value, channel, frame: this.start + found.frame };
    });
    return best;
  }
}

/** Frames that a meter collects before searching them. */
const GATHERED = 2 ** 16;

/**
 * The greatest size in `samples` from frame `from` (-1: from the silence before on) to `to`, at and between samples, if
 * it is greater than `floor`; else null. Samples outside the range still influence values between those inside.
 */
export function truePeakIn(samples: Float32Array, floor: number, from = -1, to = samples.length): FoundPeak | null {
  return (truePeakKernel() ?? plainTruePeakIn)(samples, floor, from, to);
}
