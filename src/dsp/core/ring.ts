import { samplePeakOf } from '../../audio/peak-level.ts';
import {
  AHEAD,
  interpolationRows,
  LONG_AHEAD,
  LONG_STEP,
  LONG_TAPS,
  longInterpolationRows,
  ROWS,
  STEP,
  TAPS,
} from '../filters/interpolation-rows.ts';

/** Samples of memory, a power of two, of a ring with this capacity. */
export const ringLength = (capacity: number): number => 2 ** Math.ceil(Math.log2(Math.max(2, capacity)));

/** A long memory of one signal, written and read in blocks. */
export class Ring {
  private readonly mask: number;
  /** Frames written so far (modulo the length). */
  private written = 0;
  /** The memory; loops over several rings at once read it from `placeOf` on. */
  readonly samples: Float64Array;

  /**
   * @param capacity most samples of delay plus frames of a block that are ever asked for
   * @param samples memory that is part of a larger one, `ringLength(capacity)` samples
   */
  constructor(capacity: number, samples = new Float64Array(ringLength(capacity))) {
    this.samples = samples;
    this.mask = samples.length - 1;
  }

  /** True when `count` frames from `delay` frames ago on lie in one piece, from `placeOf` on. */
  reaches(delay: number, count: number): boolean {
    return ((this.written - delay) & this.mask) + count <= this.samples.length;
  }

  /** Appends source[0..count-1]. */
  write(source: Float64Array, count: number): void {
    const { samples, mask, written } = this;
    for (let i = 0; i < count; i++) samples[(written + i) & mask] = source[i]!;
    this.written = (written + count) & mask;
  }

  /** Where in `samples` the frame lies that was written `delay` frames ago. */
  placeOf(delay: number): number {
    return (this.written - delay) & this.mask;
  }

  /**
   * Appends source[0..count-1] plus added[from..from+count-1] times a gain: `gain` plus `step` a frame, counted from
   * `position` frames before the first.
   */
  writeSum(
    source: Float64Array,
    added: Float64Array,
    from: number,
    gain: number,
    step: number,
    count: number,
    position: number,
  ): void {
    const { samples, mask, written } = this;
    // Up to the end of the array without the mask: it costs a fifth of the time.
    const toEnd = Math.min(count, samples.length - written);
    if (step === 0) for (let i = 0; i < toEnd; i++) samples[written + i] = source[i]! + gain * added[from + i]!;
    else
      for (let i = 0; i < toEnd; i++)
        samples[written + i] = source[i]! + (gain + step * (position + i)) * added[from + i]!;
    for (let i = toEnd; i < count; i++)
      samples[(written + i) & mask] = source[i]! + (gain + step * (position + i)) * added[from + i]!;
    this.written = (written + count) & mask;
  }

  /** The `count` samples that were written from `delay` frames ago on; `delay` at least `count`. */
  read(delay: number, target: Float64Array, count: number): void {
    const { samples, mask } = this;
    const from = (this.written - delay) & mask;
    const toEnd = Math.min(count, samples.length - from);
    for (let i = 0; i < toEnd; i++) target[i] = samples[from + i]!;
    for (let i = toEnd; i < count; i++) target[i] = samples[(from + i) & mask]!;
  }

  /** Adds `gain` times what `read` would give to target[0..count-1]. */
  add(delay: number, gain: number, target: Float64Array, count: number): void {
    const { samples, mask } = this;
    const from = this.placeOf(delay);
    const toEnd = Math.min(count, samples.length - from);
    for (let i = 0; i < toEnd; i++) target[i]! += gain * samples[from + i]!;
    for (let i = toEnd; i < count; i++) target[i]! += gain * samples[(from + i) & mask]!;
  }

  /**
   * As `read`, from a delay that moves: `delay` plus `offset` plus `step` samples a frame, counted from `position` frames
   * before the first. It must stay at least `count` + AHEAD + 1.
   *
   * @param ahead frames that have been written beyond the first one read: whole, so that it does not touch the rounding
   */
  readMoving(
    delay: number,
    offset: number,
    step: number,
    target: Float64Array,
    count: number,
    position: number,
    ahead = 0,
  ): void {
    const { samples, mask } = this;
    const newestAt = this.written - ahead + AHEAD;
    const rows = interpolationRows;
    const middle = delay + offset;
    for (let i = 0; i < count; i++) {
      // Delays are positive, so `| 0` is the floor; whole numbers make the addresses, which takes less time.
      const moved = middle + step * (position + i);
      const whole = moved | 0;
      const place = (moved - whole) * ROWS;
      const row = place | 0;
      const between = place - row;
      const at = row * TAPS;
      const newest = (newestAt + i - whole) | 0;
      // Written out for speed: a loop over the taps takes twice the time.
      target[i] =
        samples[newest & mask]! * (rows[at]! + between * rows[at + STEP]!) +
        samples[(newest - 1) & mask]! * (rows[at + 1]! + between * rows[at + STEP + 1]!) +
        samples[(newest - 2) & mask]! * (rows[at + 2]! + between * rows[at + STEP + 2]!) +
        samples[(newest - 3) & mask]! * (rows[at + 3]! + between * rows[at + STEP + 3]!) +
        samples[(newest - 4) & mask]! * (rows[at + 4]! + between * rows[at + STEP + 4]!) +
        samples[(newest - 5) & mask]! * (rows[at + 5]! + between * rows[at + STEP + 5]!) +
        samples[(newest - 6) & mask]! * (rows[at + 6]! + between * rows[at + STEP + 6]!) +
        samples[(newest - 7) & mask]! * (rows[at + 7]! + between * rows[at + STEP + 7]!);
    }
  }

  /**
   * As `read`, from a delay of `delay` plus path[position], path[position + 1], .. samples, by the long interpolation. It must
   * stay at least `count` + LONG_AHEAD + 1.
   */
  readAlong(delay: number, path: Float64Array, target: Float64Array, count: number, position: number): void {
    const { samples, mask, written } = this;
    const rows = longInterpolationRows;
    for (let i = 0; i < count; i++) {
      const moved = path[position + i]!;
      const whole = Math.floor(moved);
      const place = (moved - whole) * ROWS;
      const row = Math.floor(place);
      const between = place - row;
      const at = row * LONG_TAPS;
      const newest = written + i - delay - whole + LONG_AHEAD;
      // Written out for the same reason.
      target[i] =
        samples[newest & mask]! * (rows[at]! + between * rows[at + LONG_STEP]!) +
        samples[(newest - 1) & mask]! * (rows[at + 1]! + between * rows[at + LONG_STEP + 1]!) +
        samples[(newest - 2) & mask]! * (rows[at + 2]! + between * rows[at + LONG_STEP + 2]!) +
        samples[(newest - 3) & mask]! * (rows[at + 3]! + between * rows[at + LONG_STEP + 3]!) +
        samples[(newest - 4) & mask]! * (rows[at + 4]! + between * rows[at + LONG_STEP + 4]!) +
        samples[(newest - 5) & mask]! * (rows[at + 5]! + between * rows[at + LONG_STEP + 5]!) +
        samples[(newest - 6) & mask]! * (rows[at + 6]! + between * rows[at + LONG_STEP + 6]!) +
        samples[(newest - 7) & mask]! * (rows[at + 7]! + between * rows[at + LONG_STEP + 7]!) +
        samples[(newest - 8) & mask]! * (rows[at + 8]! + between * rows[at + LONG_STEP + 8]!) +
        samples[(newest - 9) & mask]! * (rows[at + 9]! + between * rows[at + LONG_STEP + 9]!) +
        samples[(newest - 10) & mask]! * (rows[at + 10]! + between * rows[at + LONG_STEP + 10]!) +
        samples[(newest - 11) & mask]! * (rows[at + 11]! + between * rows[at + LONG_STEP + 11]!) +
        samples[(newest - 12) & mask]! * (rows[at + 12]! + between * rows[at + LONG_STEP + 12]!) +
        samples[(newest - 13) & mask]! * (rows[at + 13]! + between * rows[at + LONG_STEP + 13]!) +
        samples[(newest - 14) & mask]! * (rows[at + 14]! + between * rows[at + LONG_STEP + 14]!) +
        samples[(newest - 15) & mask]! * (rows[at + 15]! + between * rows[at + LONG_STEP + 15]!);
    }
  }

  /** Largest magnitude in memory. */
  get peak(): number {
    return samplePeakOf(this.samples);
  }

  clear(): void {
    this.samples.fill(0);
  }
}
