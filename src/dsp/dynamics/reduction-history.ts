import { CONTROL_FRAMES, type GainReductionTrace } from '../core/processor.ts';

/** Control blocks that share one point: 512 frames, 10.7 ms at 48 kHz. */
const BLOCKS_PER_POINT = 8;
/** Frames from one point to the next. */
export const POINT_FRAMES = BLOCKS_PER_POINT * CONTROL_FRAMES;
/** Points kept: about 11 s at 48 kHz. */
const POINTS = 1024;

/**
 * Gain reduction of a processor over time, for drawing. A point is the largest reduction at the ends of
 * eight control blocks, so that it does not depend on how the host cuts its blocks.
 */
export class ReductionHistory implements GainReductionTrace {
  private readonly points = new Float32Array(POINTS);
  private most = 0;
  private blocks = 0;

  /** Points since the start, those no longer kept included. */
  count = 0;

  /** Notes the reduction at the end of a control block, dB, 0 or more. */
  note(reductionDb: number): void {
    if (reductionDb > this.most) this.most = reductionDb;
    if (++this.blocks < BLOCKS_PER_POINT) return;
    this.points[this.count++ % POINTS] = this.most;
    this.most = this.blocks = 0;
  }

  /** Copies the newest points into `into`, oldest first, as many as there are and fit. Returns how many. */
  read(into: Float32Array): number {
    const kept = Math.min(this.count, POINTS, into.length);
    for (let k = 0; k < kept; k++) into[k] = this.points[(this.count - kept + k) % POINTS]!;
    return kept;
  }

  reset(): void {
    this.most = this.blocks = this.count = 0;
  }
}
