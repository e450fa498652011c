import type { StereoSound } from '../../audio/audio.ts';
import { Convolver } from './convolver.ts';
import { pinkGain } from './impulse-level.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { smoothStep } from '../core/smooth-step.ts';

/** Crossfade time from one length of the response to the next, seconds. */
const OVER_SECONDS = 0.04;
/** Part of a shortened response over which it fades out. */
const FADED_PART = 0.3;

/** Frames of a response that are kept of `frames` at a share 0..1: one at least. */
export const keptFrames = (frames: number, share: number): number => Math.max(1, Math.ceil(frames * share));

/** The beginning of a response, faded out where it is cut; the whole of it as it is. */
const shortened = ({ hash, left, right }: StereoSound, share: number): StereoSound => {
  const length = keptFrames(left.length, share);
  if (length >= left.length) return { hash, left, right };
  const fade = Math.max(1, Math.round(FADED_PART * length));
  const cut = (side: Float32Array): Float32Array =>
    side.slice(0, length).map((x, n) => x * smoothStep(Math.min(1, (length - n) / (fade + 1))));
  return { hash, left: cut(left), right: cut(right) };
};

/** Both sides through one length of the response. */
class Pair {
  private readonly left: Convolver;
  private readonly right: Convolver;

  constructor(
    response: StereoSound,
    readonly share: number,
    sampleRate: number,
  ) {
    const kept = shortened(response, share);
    const gain = pinkGain(kept, sampleRate);
    const levelled = (side: Float32Array): Float64Array => Float64Array.from(side, (x) => gain * x);
    this.left = new Convolver(levelled(kept.left));
    this.right = new Convolver(levelled(kept.right));
  }

  get silent(): boolean {
    return this.left.silent && this.right.silent;
  }

  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    this.left.process(left, count, position);
    this.right.process(right, count, position);
  }

  clear(): void {
    this.left.clear();
    this.right.clear();
  }
}

/**
 * Two channels, each through its side of an impulse response, at the level at which pink noise keeps its own. The length of the
 * response can be moved: what came in before rings out as it began, what comes in goes over to the new length. That makes a
 * new convolver, so a further move waits until the last one has rung out; only the newest counts.
 */
export class SpaceConvolver {
  private pair: Pair;
  private leaving: Pair | null = null;
  private readonly shape: Float64Array;
  /** Frames of the crossfade done when this control block began. */
  private done = 0;
  private readonly leavingLeft = new Float64Array(CONTROL_FRAMES);
  private readonly leavingRight = new Float64Array(CONTROL_FRAMES);

  /** @param share part of the response that is kept, 0..1 */
  constructor(
    private readonly response: StereoSound,
    private share: number,
    private readonly sampleRate: number,
  ) {
    this.pair = new Pair(response, share, sampleRate);
    const frames = CONTROL_FRAMES * Math.ceil((OVER_SECONDS * sampleRate) / CONTROL_FRAMES);
    this.shape = Float64Array.from({ length: frames }, (_, n) => smoothStep(n / frames));
  }

  set(share: number): void {
    this.share = share;
  }

  /** True when all sound has died away. */
  get silent(): boolean {
    return this.pair.silent && this.leaving === null;
  }

  control(): void {
    if (this.leaving) {
      this.done += CONTROL_FRAMES;
      if (this.done >= this.shape.length && this.leaving.silent) this.leaving = null;
    }
    if (this.leaving || this.share === this.pair.share) return;
    this.leaving = this.pair;
    this.pair = new Pair(this.response, this.share, this.sampleRate);
    this.done = 0;
  }

  /** Frames 0..count-1 in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    const { done, leaving, leavingLeft, leavingRight, shape } = this;
    if (!leaving) {
      this.pair.process(left, right, count, position);
      return;
    }
    for (let i = 0; i < count; i++) {
      const over = shape[done + position + i] ?? 1;
      leavingLeft[i] = (1 - over) * left[i]!;
      leavingRight[i] = (1 - over) * right[i]!;
      left[i]! *= over;
      right[i]! *= over;
    }
    this.pair.process(left, right, count, position);
    leaving.process(leavingLeft, leavingRight, count, position);
    for (let i = 0; i < count; i++) {
      left[i]! += leavingLeft[i]!;
      right[i]! += leavingRight[i]!;
    }
  }

  /** Clears the memory; keeps the last set length. */
  clear(): void {
    this.leaving = null;
    if (this.share === this.pair.share) this.pair.clear();
    else this.pair = new Pair(this.response, this.share, this.sampleRate);
  }
}
