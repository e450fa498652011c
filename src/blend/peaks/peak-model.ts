import { framesOf, type Sound } from '../../audio/audio.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import type { Figures } from '../../measure/figures.ts';

/** Moments kept each time a blend is measured: its highest samples, at most one in each hop. */
const MOMENTS = 192;
/** 5 ms at 48 kHz. */
const HOP = 240;
/** Frames mixed in one pass. */
const PIECE = HOP * 64;

interface Moment {
  readonly size: number;
  readonly channel: number;
  readonly frame: number;
}

/**
 * Estimates peaks of blends near measured ones, in microseconds each: it keeps the values of all paths at the moments at which those
 * were highest. Values between samples and unknown moments are corrected by the error of the last exact measurement; a
 * search measures exactly where it ends (a cutting-plane method after Kelley 1960), so its answer follows from exact peaks.
 */
export class PeakModel {
  private readonly rows: Float64Array[] = [];
  private readonly known = new Set<string>();
  private sampleOffset = 0;
  private trueOffset = 0;

  constructor(
    private readonly paths: readonly Sound[],
    private readonly exact: (gains: readonly number[]) => Pick<Figures, 'truePeakDbtp' | 'samplePeakDbfs'>,
  ) {}

  /**
   * Measures the peak of a blend exactly and adds its highest moments; the model is exact for this blend from then on.
   */
  look(gains: readonly number[]): void {
    for (const { channel, frame } of this.highest(gains)) {
      const name = `${channel}:${frame}`;
      if (this.known.has(name)) continue;
      this.known.add(name);
      this.rows.push(
        Float64Array.from(this.paths, ({ channels }) => channels[channel]!.subarray(frame, frame + 1)[0]!),
      );
    }
    const modelled = this.modelDb(gains);
    const { truePeakDbtp, samplePeakDbfs } = this.exact(gains);
    if (modelled === null || truePeakDbtp === null || samplePeakDbfs === null) return;
    this.trueOffset = truePeakDbtp - modelled;
    this.sampleOffset = samplePeakDbfs - modelled;
  }

  truePeakDbtp(gains: readonly number[]): number | null {
    const modelled = this.modelDb(gains);
    return modelled === null ? null : modelled + this.trueOffset;
  }

  samplePeakDbfs(gains: readonly number[]): number | null {
    const modelled = this.modelDb(gains);
    return modelled === null ? null : modelled + this.sampleOffset;
  }

  /** Highest of the known moments, dB; null when all are silent. */
  private modelDb(gains: readonly number[]): number | null {
    let highest = 0;
    for (const row of this.rows) {
      let sum = 0;
      for (let p = 0; p < row.length; p++) sum += gains[p]! * row[p]!;
      highest = Math.max(highest, Math.abs(sum));
    }
    return highest > 0 ? decibelsOf(highest) : null;
  }

  /** The highest sample of each hop of the blend, the highest hops first. */
  private highest(gains: readonly number[]): Moment[] {
    const moments: Moment[] = [];
    const frames = this.paths[0] ? framesOf(this.paths[0]) : 0;
    const sum = new Float64Array(PIECE);
    for (const channel of [0, 1] as const) {
      for (let from = 0; from < frames; from += PIECE) {
        const count = Math.min(PIECE, frames - from);
        sum.fill(0);
        this.paths.forEach(({ channels }, p) =>
          addScaled(sum, channels[channel]!.subarray(from, from + count), gains[p]!),
        );
        for (let start = 0; start < count; start += HOP) {
          moments.push(highestIn(sum, start, Math.min(count, start + HOP), channel, from));
        }
      }
    }
    return moments.sort((a, b) => b.size - a.size || a.frame - b.frame).slice(0, MOMENTS);
  }
}

const addScaled = (sum: Float64Array, samples: Float32Array, gain: number): void => {
  if (gain !== 0) for (let n = 0; n < samples.length; n++) sum[n]! += gain * samples[n]!;
};

const highestIn = (sum: Float64Array, start: number, end: number, channel: number, from: number): Moment => {
  let size = 0;
  let at = start;
  for (let n = start; n < end; n++) {
    const each = Math.abs(sum[n]!);
    if (each > size) [size, at] = [each, n];
  }
  return { size, channel, frame: from + at };
};
