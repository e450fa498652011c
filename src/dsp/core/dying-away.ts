import { CONTROL_FRAMES } from './processor.ts';

/** Level that counts as silence: 200 dB below full scale, too low for any later make-up to make audible. */
const DIED = 1e-10;
/** Longest pause within a tail, seconds: no two echoes of a processor are further apart. */
export const LONGEST_PAUSE_SECONDS = 2.5;

/** Longest silence, samples, after which a processor with this tail may still produce sound. */
export const longestPause = (tail: number, sampleRate: number): number =>
  Math.min(tail, LONGEST_PAUSE_SECONDS * sampleRate);

/** The largest magnitude of frames start..end-1 of both channels. */
const peakIn = (left: Float64Array, right: Float64Array, start: number, end: number): number => {
  let peak = 0;
  for (let i = start; i < end; i++) peak = Math.max(peak, Math.abs(left[i]!), Math.abs(right[i]!));
  return peak;
};

/**
 * Decides when a stage of a chain can stop: the chain's input has ended, all stages before it
 * have stopped, and neither its input nor its output has exceeded DIED for its longest pause. Checked on the grid of
 * control blocks, so that it does not depend on the host's blocks. Plain fields: it is part of a running strip's state.
 */
export class DyingAway {
  /** True when the stage's output is silent from now on. */
  over = false;
  /** Frames at the stage's input at the end of the current control block. */
  private heard = 0;
  private quiet = 0;
  private peak = 0;

  /**
   * @param before of the stage before it; null: there is none
   * @param soundEnd frame at the stage's input after which the chain gets no new sound; Infinity: not known
   * @param pause longest silence after which the stage may still produce sound, samples, its latency included
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
