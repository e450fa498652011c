import type { GainReductionTrace } from './processor.ts';
import { restoreState, type RunningState } from './running-state.ts';
import { Strip, type InputChannels, type StripSpec } from './strip.ts';

/** Crossfade time to a strip with other processors, seconds: long enough not to click, short enough to feel immediate. */
const FADE_SECONDS = 0.02;

/**
 * A strip that is played while it is edited. New values are smoothed within the running strip. When processors are
 * added, removed or moved, another strip takes over the state of the others, envelopes and tails included, and is
 * crossfaded to.
 */
export class LiveStrip {
  private strip: Strip;
  /** The strip that fades out; null: none. */
  private leaving: Strip | null = null;
  private readonly fadeFrames: number;
  private faded = 0;
  private readonly left: Float32Array;
  private readonly right: Float32Array;

  constructor(
    spec: StripSpec,
    private readonly sampleRate: number,
    private readonly maxFrames: number,
    /** State of a strip of the same `spec` and `maxFrames` to continue from; null: starts from rest. */
    state: RunningState | null = null,
  ) {
    this.strip = new Strip(spec, sampleRate, maxFrames);
    if (state) restoreState(this.strip, state);
    this.fadeFrames = Math.round(FADE_SECONDS * sampleRate);
    this.left = new Float32Array(maxFrames);
    this.right = new Float32Array(maxFrames);
  }

  /** As `Chain.traces`. */
  get traces(): readonly (GainReductionTrace | null)[] {
    return this.strip.traces;
  }

  /** As `Strip.seek`. */
  seek(frame: number): void {
    this.strip.seek(frame);
    this.leaving?.seek(frame);
  }

  /** Changes to this strip. A change during a fade ends that fade. */
  moveTo(spec: StripSpec): void {
    if (this.strip.moveTo(spec)) return;
    const next = new Strip(spec, this.sampleRate, this.maxFrames);
    next.takeOver(this.strip);
    this.leaving = this.strip;
    this.strip = next;
    this.faded = 0;
  }

  /** As `Strip.process`. */
  process(channels: readonly InputChannels[], outLeft: Float32Array, outRight: Float32Array, frames: number): void {
    this.strip.process(channels, outLeft, outRight, 0, frames);
    const { leaving, left, right, fadeFrames } = this;
    if (!leaving) return;
    leaving.process(channels, left, right, 0, frames);
    for (let i = 0; i < frames; i++) {
      const share = Math.min(1, (this.faded + i + 1) / fadeFrames);
      outLeft[i] = left[i]! + share * (outLeft[i]! - left[i]!);
      outRight[i] = right[i]! + share * (outRight[i]! - right[i]!);
    }
    this.faded += frames;
    if (this.faded >= fadeFrames) this.leaving = null;
  }
}
