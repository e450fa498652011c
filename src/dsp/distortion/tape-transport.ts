import { LONG_AHEAD } from '../filters/interpolation-rows.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';
import { Ring } from '../core/ring.ts';
import { SmoothPath } from '../core/smooth-path.ts';
import { wanderAt } from '../delay/wander.ts';

/** Random points a second for wow and for flutter. */
const WOW_RATE = 1.5;
const FLUTTER_RATE = 24;
/** Wow and flutter that both channels share, and those of each by itself. */
const SHARED_SEED = 11;
const OWN_SEEDS = [13, 15] as const;
/** Largest deviation of the speed, relative. */
export const MAX_WOW = 0.005;
export const MAX_FLUTTER = 0.003;
/** Smoothing of the depths: a quick move would be a quick change of pitch. */
const DEPTH_SECONDS = 0.3;

/** Deviation of the delay to either side, seconds, for a speed deviation of at most `depth`: a wander moves by less than 2 from point to point. */
const wayOf = (depth: number, rate: number): number => depth / (2 * rate);
const MAX_WAY = wayOf(MAX_WOW, WOW_RATE) + wayOf(MAX_FLUTTER, FLUTTER_RATE);

/** Samples by which the transport is late: room for the longest way, and for the interpolation. */
export const transportDelay = (sampleRate: number): number => Math.ceil(MAX_WAY * sampleRate) + LONG_AHEAD + 1;

/**
 * Speed changes of tape: slow (wow) and quick (flutter), the same in each run. Both channels share
 * them, except for a part of each channel, as with tape that is not guided exactly straight.
 */
export class TapeTransport {
  private readonly left: Ring;
  private readonly right: Ring;
  private readonly paths: readonly [SmoothPath, SmoothPath] = [new SmoothPath(), new SmoothPath()];
  private readonly wow: Ramp;
  private readonly flutter: Ramp;
  private readonly apart: Ramp;
  private readonly delay: number;
  /** Control blocks since the start. */
  private blocks = 0;

  /** @param wow largest slow deviation of the speed, relative; @param flutter the same, quick; @param apart separate part of each channel, 0..1 */
  constructor(
    wow: number,
    flutter: number,
    apart: number,
    private readonly sampleRate: number,
  ) {
    this.delay = transportDelay(sampleRate);
    const capacity = this.delay + Math.ceil(MAX_WAY * sampleRate) + 2 * CONTROL_FRAMES;
    this.left = new Ring(capacity);
    this.right = new Ring(capacity);
    this.wow = new Ramp(wow, sampleRate, DEPTH_SECONDS);
    this.flutter = new Ramp(flutter, sampleRate, DEPTH_SECONDS);
    this.apart = new Ramp(apart, sampleRate, DEPTH_SECONDS);
    this.reset();
  }

  set(wow: number, flutter: number, apart: number): void {
    this.wow.set(wow);
    this.flutter.set(flutter);
    this.apart.set(apart);
  }

  control(): void {
    this.wow.control();
    this.flutter.control();
    this.apart.control();
    this.blocks++;
    const { paths, wow, flutter, apart } = this;
    for (let channel = 0; channel < 2; channel++)
      paths[channel]!.next(this.offset(channel, wow.end, flutter.end, apart.end));
  }

  /** Frames 0..count-1 in place; `position` frames of the control block are already done. */
  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    this.move(this.left, this.paths[0], left, count, position);
    this.move(this.right, this.paths[1], right, count, position);
  }

  reset(): void {
    this.left.clear();
    this.right.clear();
    this.wow.reset();
    this.flutter.reset();
    this.apart.reset();
    this.blocks = 0;
    const { paths, wow, flutter, apart } = this;
    for (let channel = 0; channel < 2; channel++)
      paths[channel]!.jump(this.offset(channel, wow.value, flutter.value, apart.value));
  }

  private move(ring: Ring, path: SmoothPath, samples: Float64Array, count: number, position: number): void {
    ring.write(samples, count);
    if (path.still) ring.read(this.delay + count, samples, count);
    else ring.readAlong(this.delay + count, path.values, samples, count, position);
  }

  /** Samples by which a channel is later than the middle: never more than one wander of each kind. */
  private offset(channel: number, wow: number, flutter: number, apart: number): number {
    const shared = this.wander(SHARED_SEED, wow, flutter);
    return apart === 0 ? shared : shared + apart * (this.wander(OWN_SEEDS[channel]!, wow, flutter) - shared);
  }

  private wander(seed: number, wow: number, flutter: number): number {
    const seconds = (this.blocks * CONTROL_FRAMES) / this.sampleRate;
    const slow = wow === 0 ? 0 : wayOf(wow, WOW_RATE) * wanderAt(seed, seconds * WOW_RATE);
    const quick = flutter === 0 ? 0 : wayOf(flutter, FLUTTER_RATE) * wanderAt(seed + 1, seconds * FLUTTER_RATE);
    return this.sampleRate * (slow + quick);
  }
}
