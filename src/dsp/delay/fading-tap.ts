import { CONTROL_FRAMES } from '../core/processor.ts';
import type { Ring } from '../core/ring.ts';
import { smoothStep } from '../core/smooth-step.ts';

/** Length of the crossfade from one delay to the next, seconds. */
const FADE_SECONDS = 0.04;

/** Fades by their length in frames, made once for all taps. */
const shapes = new Map<number, Float64Array>();
const shapeOf = (frames: number): Float64Array => {
  const known = shapes.get(frames);
  if (known) return known;
  const shape = Float64Array.from({ length: frames }, (_, i) => smoothStep(i / frames));
  shapes.set(frames, shape);
  return shape;
};

/**
 * A whole-sample read position that moves without clicks and without a change of pitch: a crossfade from the old delay to
 * the new one. A delay set during a fade waits for its end; only the newest counts.
 */
export class FadingTap {
  private delay: number;
  private next: number;
  private wanted: number;
  private readonly shape: Float64Array;
  /** Frames of the fade done when this control block began. */
  private done = 0;
  private readonly spare = new Float64Array(CONTROL_FRAMES);

  constructor(delay: number, sampleRate: number) {
    this.delay = this.next = this.wanted = delay;
    this.shape = shapeOf(CONTROL_FRAMES * Math.ceil((FADE_SECONDS * sampleRate) / CONTROL_FRAMES));
  }

  set(delay: number): void {
    this.wanted = delay;
  }

  control(): void {
    if (this.delay !== this.next) {
      this.done += CONTROL_FRAMES;
      if (this.done === this.shape.length) this.delay = this.next;
    }
    if (this.delay === this.next) {
      this.next = this.wanted;
      this.done = 0;
    }
  }

  /** True when a single delay, `shortest`, is read. */
  get still(): boolean {
    return this.delay === this.next;
  }

  /** True when no fade is running and no other delay was set. */
  get settled(): boolean {
    return this.still && this.delay === this.wanted;
  }

  /** Shortest delay that is being read. */
  get shortest(): number {
    return Math.min(this.delay, this.next);
  }

  /**
   * Reads target[0..count-1] from a ring; `position` frames of the control block are already done.
   *
   * @param ahead frames that have been written to the ring beyond the first one read
   */
  read(ring: Ring, target: Float64Array, count: number, position: number, ahead = 0): void {
    ring.read(this.delay + ahead, target, count);
    if (this.delay === this.next) return;
    const { spare } = this;
    ring.read(this.next + ahead, spare, count);
    this.fade(target, spare, count, position);
  }

  /** As `read`, with the delay moved by `offset` samples at the start of the control block and `step` more each frame. */
  readMoving(
    ring: Ring,
    target: Float64Array,
    count: number,
    position: number,
    offset: number,
    step: number,
    ahead = 0,
  ): void {
    ring.readMoving(this.delay, offset, step, target, count, position, ahead);
    if (this.delay === this.next) return;
    ring.readMoving(this.next, offset, step, this.spare, count, position, ahead);
    this.fade(target, this.spare, count, position);
  }

  /** As `read`, with the delay moved by path[position], path[position + 1], .. samples. */
  readAlong(ring: Ring, path: Float64Array, target: Float64Array, count: number, position: number): void {
    ring.readAlong(this.delay, path, target, count, position);
    if (this.delay === this.next) return;
    ring.readAlong(this.next, path, this.spare, count, position);
    this.fade(target, this.spare, count, position);
  }

  reset(): void {
    this.delay = this.next = this.wanted;
    this.done = 0;
  }

  private fade(target: Float64Array, to: Float64Array, count: number, position: number): void {
    const { shape } = this;
    const from = this.done + position;
    for (let i = 0; i < count; i++) target[i]! += shape[from + i]! * (to[i]! - target[i]!);
  }
}
