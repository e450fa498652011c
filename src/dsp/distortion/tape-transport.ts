import { LONG_AHEAD } from '../filters/interpolation-rows.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';
import { Ring } from '../core/ring.ts';
import { SmoothPath } from '../core/smooth-path.ts';
import { wanderAt } from '../delay/wander.ts';

/** Random points a second of slow and of quick changes of speed. */
const WOW_RATE = 1.5;
const FLUTTER_RATE = 24;
const WOW_SEED = 11;
const FLUTTER_SEED = 12;
/** Most that the speed may be off, of 1. */
export const MAX_WOW = 0.005;
export const MAX_FLUTTER = 0.003;
/** Smoothing of the depths: a quick move would be a quick change of pitch. */
const DEPTH_SECONDS = 0.3;

/** Way to either side, seconds, for a speed that is off by at most `depth`: a wander moves by less than 2 from point to point. */
const wayOf = (depth: number, rate: number): number => depth / (2 * rate);
const MAX_WAY = wayOf(MAX_WOW, WOW_RATE) + wayOf(MAX_FLUTTER, FLUTTER_RATE);

/** Samples by which the transport is late: room for the longest way, and for the interpolation. */
export const transportDelay = (sampleRate: number): number => Math.ceil(MAX_WAY * sampleRate) + LONG_AHEAD + 1;

/** Speed of a tape that is never quite even: slow (wow) and quick (flutter) changes, the same on both channels and in each run. */
export class TapeTransport {
  private readonly left: Ring;
  private readonly right: Ring;
  private readonly path = new SmoothPath();
  private readonly wow: Ramp;
  private readonly flutter: Ramp;
  private readonly delay: number;
  /** Control blocks since the start. */
  private blocks = 0;

  /** @param wow most that the speed is off slowly, of 1; @param flutter quickly */
  constructor(
    wow: number,
    flutter: number,
    private readonly sampleRate: number,
  ) {
    this.delay = transportDelay(sampleRate);
    const capacity = this.delay + Math.ceil(MAX_WAY * sampleRate) + 2 * CONTROL_FRAMES;
    this.left = new Ring(capacity);
    this.right = new Ring(capacity);
    this.wow = new Ramp(wow, sampleRate, DEPTH_SECONDS);
    this.flutter = new Ramp(flutter, sampleRate, DEPTH_SECONDS);
    this.reset();
  }

  set(wow: number, flutter: number): void {
    this.wow.set(wow);
    this.flutter.set(flutter);
  }

  control(): void {
    this.wow.control();
    this.flutter.control();
    this.blocks++;
    this.path.next(this.offset(this.wow.end, this.flutter.end));
  }

  /** Frames 0..count-1 in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    const { path, delay } = this;
    this.left.write(left, count);
    this.right.write(right, count);
    if (path.still) {
      this.left.read(delay + count, left, count);
      this.right.read(delay + count, right, count);
      return;
    }
    this.left.readAlong(delay + count, path.values, left, count, position);
    this.right.readAlong(delay + count, path.values, right, count, position);
  }

  reset(): void {
    this.left.clear();
    this.right.clear();
    this.wow.reset();
    this.flutter.reset();
    this.blocks = 0;
    this.path.jump(this.offset(this.wow.value, this.flutter.value));
  }

  /** Samples later than the middle. */
  private offset(wow: number, flutter: number): number {
    const seconds = (this.blocks * CONTROL_FRAMES) / this.sampleRate;
    const slow = wow === 0 ? 0 : wayOf(wow, WOW_RATE) * wanderAt(WOW_SEED, seconds * WOW_RATE);
    const quick = flutter === 0 ? 0 : wayOf(flutter, FLUTTER_RATE) * wanderAt(FLUTTER_SEED, seconds * FLUTTER_RATE);
    return this.sampleRate * (slow + quick);
  }
}
