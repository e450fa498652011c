import { FadingTap } from './fading-tap.ts';
import { LONG_AHEAD } from '../filters/interpolation-rows.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';
import type { Ring } from '../core/ring.ts';
import { SmoothPath } from '../core/smooth-path.ts';

/** Shortest delay of a voice, samples: all samples read in a block were written before it. */
export const SHORTEST_DELAY = CONTROL_FRAMES + LONG_AHEAD + 1;
/** Frames that a voice needs beyond its delay: those of its interpolation. */
export const VOICE_FRAMES = 2 * (LONG_AHEAD + 1);
/** Pan of 1 to 4 voices, -1 left to 1 right, in opposite pairs. */
const PLACES: readonly (readonly number[])[] = [[0], [-1, 1], [-1, 1, 0], [-1, 1, -1 / 3, 1 / 3]];

/** Linear gains of one voice: from the left input to the left output, and from the right to the right. */
interface VoiceGains {
  readonly left: number;
  readonly right: number;
}

/**
 * Gains of `count` voices (1..4) spread over the field, from 0 (all in the middle) to 1. Equal power: the squares of each
 * side's gains add up to 1, whatever the count and the spread, so unlike copies are together as loud as the sound. A
 * voice contains both sides with different gains, so that the sound of one side stays there.
 */
export const voiceGains = (count: number, spread: number): readonly VoiceGains[] =>
  PLACES[count - 1]!.map((place) => ({
    left: Math.sqrt((1 - place * spread) / count),
    right: Math.sqrt((1 + place * spread) / count),
  }));

/** Samples by which a voice is late at least: `delay` rounded, where it is not too short. */
export const voiceDelay = (delay: number): number => Math.max(SHORTEST_DELAY, Math.round(delay));

/** One copy of a stereo sound: late by a time that moves, with a gain on each side. */
export class Voice {
  private readonly tap: FadingTap;
  private readonly path = new SmoothPath();
  private readonly left: Ramp;
  private readonly right: Ramp;
  private readonly copy = new Float64Array(CONTROL_FRAMES);
  private gains: VoiceGains = { left: 0, right: 0 };

  constructor(sampleRate: number) {
    this.tap = new FadingTap(SHORTEST_DELAY, sampleRate);
    this.left = new Ramp(0, sampleRate);
    this.right = new Ramp(0, sampleRate);
  }

  /** A new delay, samples, is reached by crossfade; gains move when the next control block starts. */
  set(delay: number, gains: VoiceGains): void {
    this.tap.set(voiceDelay(delay));
    this.gains = gains;
  }

  /** Starts a control block: towards `offset` samples more than the delay, and gains times `level`. */
  control(offset: number, level: number): void {
    this.aim(level);
    this.tap.control();
    this.path.next(offset);
    this.left.control();
    this.right.control();
  }

  /** Adds `count` frames of the copy on one side, from what that side's ring holds; `position` frames are done. */
  add(side: 'left' | 'right', ring: Ring, target: Float64Array, count: number, position: number): void {
    const gain = this[side];
    if (gain.settled && gain.value === 0) return;
    const { copy, path, tap } = this;
    if (path.still) tap.read(ring, copy, count, position);
    else tap.readAlong(ring, path.values, copy, count, position);
    const { value, step } = gain;
    for (let i = 0; i < count; i++) target[i]! += (value + step * (position + i)) * copy[i]!;
  }

  /** Back to the state after construction, at this offset and level. */
  reset(offset: number, level: number): void {
    this.aim(level);
    this.tap.reset();
    this.path.jump(offset);
    this.left.reset();
    this.right.reset();
  }

  private aim(level: number): void {
    this.left.set(level * this.gains.left);
    this.right.set(level * this.gains.right);
  }
}
