import type { GainReductionTrace } from '../dsp/core/processor.ts';

/** Points of a trace that are looked at for one reading, at most. */
const POINTS = 8;

/** The greatest gain reduction of each processor of a running chain since the last reading. */
export class ReductionReader {
  private counts: number[] = [];
  private readonly newest = new Float32Array(POINTS);

  /** Writes a number for each of the processors from a place on, dB, 0 or more; NaN for one that has no trace (null). */
  read(traces: readonly (GainReductionTrace | null)[], values: Float32Array, at: number): void {
    this.counts.length = traces.length;
    traces.forEach((trace, n) => {
      values[at + n] = trace ? this.most(trace, this.counts[n] ?? 0) : NaN;
      this.counts[n] = trace?.count ?? 0;
    });
  }

  private most(trace: GainReductionTrace, before: number): number {
    const points = Math.min(POINTS, Math.max(1, trace.count - before));
    const read = trace.read(this.newest.subarray(0, points));
    let most = 0;
    for (let n = 0; n < read; n++) most = Math.max(most, this.newest[n]!);
    return most;
  }
}
