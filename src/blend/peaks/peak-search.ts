import { framesOf, type Sound } from '../../audio/audio.ts';
import type { Samples } from '../../audio/samples.ts';
import { CURVE, LEVEL, REACH } from '../../measure/peaks/interpolation.ts';
import { CLIPPED_RUN, FULL_SCALE } from '../../measure/levels.ts';
import { truePeakIn } from '../../measure/peaks/true-peak.ts';
import { BLOCK, WIDE, type Extremes, type PeakBounds } from './peak-bounds.ts';

/** Margin for the rounding of single-precision bounds and samples. */
const SLACK = 1 + 1e-6;

/** Samples outside a range that influence interpolated values in it. */
const MARGIN = REACH + 8;

/** Blocks on either side from which bends reach into one. */
const NEAR = Math.ceil((REACH + 1) / BLOCK);

/** Number of wide blocks, those with the highest bounds, that are searched first: after them most others can be skipped. */
const FIRST = 24;

/** A path that sounds in the blend, and one channel of it. */
interface Part {
  readonly gain: number;
  readonly samples: Samples;
  readonly narrow: Extremes;
  readonly wide: Extremes;
}

/**
 * Peaks of any blend of paths, by bounding and refining: a block of the blend cannot exceed the sum of its paths'
 * extremes times their gains, so only blocks whose bound is above the greatest peak known are mixed and measured.
 * The result equals measuring the mixed sum, in any order of search.
 */
export class PeakSearch {
  private readonly frames: number;
  private readonly blocks: number;
  private readonly wideBlocks: number;
  private readonly sum = new Float64Array(BLOCK * WIDE + 2 * MARGIN);
  private readonly mixed = new Float32Array(BLOCK * WIDE + 2 * MARGIN);
  private readonly low: Float64Array;
  private readonly narrowLevel = new Float64Array(WIDE);
  private readonly narrowBend = new Float64Array(WIDE + 2 * NEAR);

  constructor(
    private readonly paths: readonly Sound[],
    private readonly bounds: readonly PeakBounds[],
  ) {
    this.frames = paths[0] ? framesOf(paths[0]) : 0;
    this.blocks = Math.ceil(this.frames / BLOCK);
    this.wideBlocks = Math.ceil(this.blocks / WIDE);
    this.low = new Float64Array(Math.max(this.wideBlocks, WIDE));
  }

  /** Greatest sample size, linear. */
  samplePeak(gains: readonly number[]): number {
    let best = 0;
    for (const channel of [0, 1] as const) {
      const parts = this.partsOf(channel, gains);
      const level = this.wideLevel(parts);
      for (const wide of likeliestFirst(level)) {
        if (level[wide]! * SLACK > best) best = this.samplePeakWithin(parts, wide, best);
      }
    }
    return best;
  }

  private samplePeakWithin(parts: readonly Part[], wide: number, best: number): number {
    for (const [from, to] of this.stretches(wide, this.levelIn(parts, wide), best)) {
      const mixed = this.mix(parts, from, to);
      best = Math.max(best, greatestSize(mixed, 0, mixed.length));
    }
    return best;
  }

  /** Greatest size at and between the samples, linear, as true-peak.ts finds it; `floor` is the sample peak. */
  truePeak(gains: readonly number[], floor: number): number {
    let best = floor;
    for (const channel of [0, 1] as const) {
      const parts = this.partsOf(channel, gains);
      const level = this.wideLevel(parts);
      const bend = greatestNear(this.wideBend(parts), 1);
      const bound = level.map((each, wide) => valueBound(each, bend[wide]!));
      for (const wide of likeliestFirst(bound)) {
        if (bound[wide]! * SLACK > best) best = this.truePeakWithin(parts, wide, bend[wide]!, best);
      }
    }
    return best;
  }

  private truePeakWithin(parts: readonly Part[], wide: number, bendAround: number, best: number): number {
    const levels = this.levelIn(parts, wide);
    // Most blocks are excluded by their own levels and the greatest second difference around them.
    if (levels.every((level) => valueBound(level, bendAround) * SLACK <= best)) return best;
    const bends = this.bendIn(parts, wide);
    const bound = levels.map((level, n) => valueBound(level, bends[n]!));
    // The actual levels of the blend exclude most of the rest, and mixing one block alone takes far less time than mixing all
    // samples that influence its interpolated values.
    for (const [from, to] of this.stretches(wide, bound, best)) {
      const mixed = this.mix(parts, from, Math.min(this.frames, to + 1));
      for (let n = from / BLOCK - wide * WIDE, at = 0; at < to - from; n++, at += BLOCK) {
        bound[n] = valueBound(greatestSize(mixed, at, at + BLOCK + 1), bends[n]!);
      }
    }
    for (const [from, to] of this.stretches(wide, bound, best)) {
      const start = from - MARGIN;
      const mixed = this.mix(parts, start, to + MARGIN);
      // The silence before the sound has values between its samples too.
      best = truePeakIn(mixed, best, (from === 0 ? -1 : from) - start, to - start)?.value ?? best;
    }
    return best;
  }

  /** Samples in clipped runs, as levels.ts counts them. */
  clippedSamples(gains: readonly number[]): number {
    return this.clippedIn(this.partsOf(0, gains)) + this.clippedIn(this.partsOf(1, gains));
  }

  private clippedIn(parts: readonly Part[]): number {
    const below = FULL_SCALE * (1 - 1e-9);
    const level = this.wideLevel(parts);
    let clipped = 0;
    let run = 0;
    let runSide = 0;
    let runEnd = 0;
    const finish = (): void => {
      if (run >= CLIPPED_RUN) clipped += run;
      run = 0;
    };
    for (let wide = 0; wide < level.length; wide++) {
      if (level[wide]! * SLACK <= below) continue;
      for (const [from, to] of this.stretches(wide, this.levelIn(parts, wide), below)) {
        if (from !== runEnd) finish();
        const mixed = this.mix(parts, from, to);
        for (let n = 0; n < mixed.length; n++) {
          const x = mixed[n]!;
          const side = x >= FULL_SCALE ? 1 : x <= -FULL_SCALE ? -1 : 0;
          if (side === 0 || side !== runSide) finish();
          runSide = side;
          if (side !== 0) run++;
        }
        runEnd = to;
      }
    }
    finish();
    return clipped;
  }

  private partsOf(channel: 0 | 1, gains: readonly number[]): Part[] {
    return this.paths.flatMap((path, p) => {
      const bounds = this.bounds[p]!;
      const gain = gains[p]!;
      if (gain === 0) return [];
      return [{ gain, samples: path.channels[channel]!, narrow: bounds.narrow[channel], wide: bounds.wide[channel] }];
    });
  }

  private wideLevel(parts: readonly Part[]): Float64Array {
    const level = new Float64Array(this.wideBlocks);
    this.low.fill(0);
    for (const { gain, wide } of parts) addLevels(wide, gain, 0, level.length, level, this.low);
    return greaterSide(level, this.low);
  }

  private wideBend(parts: readonly Part[]): Float64Array {
    const bend = new Float64Array(this.wideBlocks);
    for (const { gain, wide } of parts) addBends(wide, gain, 0, bend.length, bend);
    return bend;
  }

  /** Bounds of the samples in the narrow blocks of a wide one. */
  private levelIn(parts: readonly Part[], wide: number): Float64Array {
    const level = this.narrowLevel.subarray(0, Math.min(WIDE, this.blocks - wide * WIDE));
    level.fill(0);
    this.low.fill(0, 0, WIDE);
    for (const { gain, narrow } of parts) addLevels(narrow, gain, wide * WIDE, level.length, level, this.low);
    return greaterSide(level, this.low);
  }

  /** Bounds of the bends in and around the narrow blocks of a wide one. */
  private bendIn(parts: readonly Part[], wide: number): Float64Array {
    const first = Math.max(0, wide * WIDE - NEAR);
    const bend = this.narrowBend.subarray(0, Math.min(this.blocks, (wide + 1) * WIDE + NEAR) - first);
    bend.fill(0);
    for (const { gain, narrow } of parts) addBends(narrow, gain, first, bend.length, bend);
    return greatestNear(bend, NEAR).subarray(wide * WIDE - first);
  }

  /** The stretches of a wide block, frames, whose `bound` (one a narrow block) is above `best`; neighbours joined. */
  private stretches(wide: number, bound: Float64Array, best: number): (readonly [number, number])[] {
    const out: (readonly [number, number])[] = [];
    const isHigh = (n: number): boolean => n < bound.length && bound[n]! * SLACK > best;
    for (let n = 0; n < bound.length; n++) {
      if (!isHigh(n)) continue;
      const from = (wide * WIDE + n) * BLOCK;
      while (isHigh(n + 1)) n++;
      out.push([from, Math.min(this.frames, (wide * WIDE + n + 1) * BLOCK)]);
    }
    return out;
  }

  /** The blend from frame `from` to `to`, summed and rounded as a render does; silence beyond the sound. */
  private mix(parts: readonly Part[], from: number, to: number): Float32Array {
    const { sum, mixed, frames } = this;
    const length = to - from;
    sum.fill(0, 0, length);
    const first = Math.max(0, -from);
    const last = Math.min(length, frames - from);
    for (const { gain, samples } of first < last ? parts : []) {
      const stretch = samples.subarray(from + first, from + last);
      for (let n = 0; n < stretch.length; n++) sum[first + n]! += gain * stretch[n]!;
    }
    for (let n = 0; n < length; n++) mixed[n] = sum[n]!;
    return mixed.subarray(0, length);
  }
}

const greatestSize = (samples: Float32Array, from: number, to: number): number => {
  let greatest = 0;
  for (let n = from; n < Math.min(samples.length, to); n++) {
    const size = Math.abs(samples[n]!);
    if (size > greatest) greatest = size;
  }
  return greatest;
};

/** Adds the extremes of `count` blocks of a path, from `from` on, times its gain to the bounds of the blend. */
const addLevels = (
  { highest, lowest, step }: Extremes,
  gain: number,
  from: number,
  count: number,
  high: Float64Array,
  low: Float64Array,
): void => {
  const top = gain > 0 ? highest : lowest;
  const bottom = gain > 0 ? lowest : highest;
  const size = gain * step;
  for (let n = 0; n < count; n++) {
    high[n]! += size * top[from + n]!;
    low[n]! += size * bottom[from + n]!;
  }
};

const addBends = (
  { bend, bendStep }: Extremes,
  gain: number,
  from: number,
  count: number,
  bends: Float64Array,
): void => {
  const size = Math.abs(gain) * bendStep;
  for (let n = 0; n < count; n++) bends[n]! += size * bend[from + n]!;
};

/** The greater of `high` and minus `low`, written into `high`. */
const greaterSide = (high: Float64Array, low: Float64Array): Float64Array => {
  for (let n = 0; n < high.length; n++) if (-low[n]! > high[n]!) high[n] = -low[n]!;
  return high;
};

/** For each place the greatest value at most `near` places away. */
const greatestNear = (values: Float64Array, near: number): Float64Array =>
  values.map((value, at) => {
    let greatest = value;
    for (let n = Math.max(0, at - near); n <= Math.min(values.length - 1, at + near); n++) {
      if (values[n]! > greatest) greatest = values[n]!;
    }
    return greatest;
  });

/**
 * Bound of the values between samples of this level, with second differences up to `bend` around (interpolation.ts). The
 * samples around may be greater than those beside, so BOUND times the level does not hold here.
 */
const valueBound = (level: number, bend: number): number => LEVEL * level + CURVE * bend;

/** Indices of `bounds`, the FIRST greatest before all the others. */
const likeliestFirst = (bounds: Float64Array): Uint32Array => {
  const least = bounds.slice().sort().at(-FIRST) ?? 0;
  const order = new Uint32Array(bounds.length);
  let at = 0;
  for (let n = 0; n < bounds.length; n++) if (bounds[n]! >= least) order[at++] = n;
  for (let n = 0; n < bounds.length; n++) if (!(bounds[n]! >= least)) order[at++] = n;
  return order;
};
