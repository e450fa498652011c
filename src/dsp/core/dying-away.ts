import { CONTROL_FRAMES } from './processor.ts';

/** Level that counts as silence: 200 dB below full scale, so low that no make-up after it brings it back. */
const DIED = 1e-10;
/** A processor that gave nothing for so long gives nothing more: no two of its echoes lie further apart, seconds. */
export const LONGEST_PAUSE_SECONDS = 2.5;

/** Longest silence, samples, after which a processor with this tail may sound again by itself. */
export const longestPause = (tail: number, sampleRate: number): number =>
  Math.min(tail, LONGEST_PAUSE_SECONDS * sampleRate);

/** The largest magnitude of frames start..end-1 of both channels. */
const peakIn = (left: Float64Array, right: Float64Array, start: number, end: number): number => {
  let peak = 0;
  for (let i = start; i < end; i++) peak = Math.max(peak, Math.abs(left[i]!), Math.abs(right[i]!));
  return peak;
};

/**
 * Tells when a stage of a chain need not run any more: all sound before the chain has ended for good, all stages before it
 * are over, and neither its input nor its output has been above DIED for as long as it can pause. Looked at on the grid of
 * control blocks, so that it does not depend on the host's blocks. Plain fields: it is part of a running strip's state.
 */
export class DyingAway {
  /** True when from here on the stage's output is silence. */
  over = false;
  /** Frames at the stage's input at the end of the control block in hand. */
  private heard = 0;
  private quiet = 0;
  private peak = 0;

  /**
   * @param before of the stage before it; null: there is none
   * @param soundEnd frame at the stage's input from which on nothing new comes to the chain; Infinity: it is not known
   * @param pause longest silence after which the stage may sound again, samples, its latency included
   */
  constructor(
    private readonly before: DyingAway | null,
    private soundEnd: number,
    private readonly pause: number,
  ) {}

  /** Never stops this stage again: its settings have changed. */
  keepOn(): void {
    this.soundEnd = Infinity;
    this.quiet = 0;
  }

  control(): void {
    const { before, heard, soundEnd, peak, pause } = this;
    if (heard > soundEnd) this.quiet = peak < DIED ? this.quiet + CONTROL_FRAMES : 0;
    this.over = this.quiet > pause && (before === null || before.over);
    this.peak = 0;
    this.heard += CONTROL_FRAMES;
  }

  /** Measures the peak of frames at the input, and again at the output. */
  look(left: Float64Array, right: Float64Array, start: number, end: number): void {
    if (this.heard > this.soundEnd) this.peak = Math.max(this.peak, peakIn(left, right, start, end));
  }

  reset(): void {
    this.over = false;
    this.heard = this.quiet = this.peak = 0;
  }
}
