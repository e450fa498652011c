import { framesOf, type Audio } from '../dsp/audio.ts';
import { BOUND, CURVE, LEVEL, REACH } from '../measure/interpolation.ts';
import { CLIPPED_RUN, FULL_SCALE } from '../measure/levels.ts';
import { truePeakIn } from '../measure/true-peak.ts';
import { BLOCK, WIDE, type Extremes, type PeakBounds } from './peak-bounds.ts';

/** Bounds of the blend in successive blocks of one channel. */
interface BlendBounds {
  /** Greatest sample size that can be there. */
  readonly level: Float64Array;
  /** Greatest second difference. */
  readonly bend: Float64Array;
}

/** Room for the rounding of single-precision bounds and samples. */
const SLACK = 1 + 1e-6;

/** Samples that shape the values of a stretch from outside it. */
const MARGIN = REACH + 8;

/** Blocks on either side from which bends reach into one. */
const NEAR = Math.ceil((REACH + 1) / BLOCK);

/** Frames of a wide block. */
const WIDE_FRAMES = BLOCK * WIDE;

/**
 * Peaks of any blend of paths, found by bounding and refining: a block of the blend can hold no more than its paths'
 * extremes times their gains add up to, so only blocks whose bound is above the greatest peak known are mixed and looked
 * at. What is found is what the mixed sum would measure, whatever the order of looking.
 */
export class PeakSearch {
  private readonly frames: number;
  private readonly blocks: number;
  private readonly sum: Float64Array;
  private readonly mixed: Float32Array;
  private readonly narrow: BlendBounds;

  constructor(
    private readonly paths: readonly Audio[],
    private readonly bounds: readonly PeakBounds[],
  ) {
    this.frames = paths[0] ? framesOf(paths[0]) : 0;
    this.blocks = Math.ceil(this.frames / BLOCK);
    const longest = WIDE_FRAMES + 2 * MARGIN;
    this.sum = new Float64Array(longest);
    this.mixed = new Float32Array(longest);
    this.narrow = { level: new Float64Array(WIDE + 2 * NEAR), bend: new Float64Array(WIDE + 2 * NEAR) };
  }

  /** Greatest sample size, linear. */
  samplePeak(gains: readonly number[]): number {
    let best = 0;
    for (const channel of [0, 1] as const) {
      const { level } = this.wideBounds(channel, gains);
      for (const wide of [likeliest(level), ...level.keys()]) {
        if (level[wide]! * SLACK <= best) continue;
        for (const [from, to] of this.stretches(channel, gains, wide, 0, (bound) => bound * SLACK > best)) {
          const mixed = this.mix(channel, gains, from, to);
          for (let n = 0; n < to - from; n++) best = Math.max(best, Math.abs(mixed[n]!));
        }
      }
    }
    return best;
  }

  /** Greatest size at and between the samples, linear, as true-peak.ts finds it; `floor` is the sample peak. */
  truePeak(gains: readonly number[], floor: number): number {
    let best = floor;
    for (const channel of [0, 1] as const) {
      const { level, bend } = this.wideBounds(channel, gains);
      const bound = level.map((_, wide) => between(level, bend, wide, 1));
      for (const wide of [likeliest(bound), ...bound.keys()]) {
        if (bound[wide]! * SLACK > best) best = this.truePeakWithin(channel, gains, wide, best);
      }
    }
    return best;
  }

  private truePeakWithin(channel: 0 | 1, gains: readonly number[], wide: number, best: number): number {
    const stretches = this.stretches(channel, gains, wide, CURVE, (bound) => bound * SLACK > best);
    for (const [from, to] of stretches) {
      // The silence before the sound has values between its samples too.
      const first = from === 0 ? -1 : from;
      const start = from - MARGIN;
      const mixed = this.mix(channel, gains, start, to + MARGIN);
      best = truePeakIn(mixed, best, first - start, to - start)?.value ?? best;
    }
    return best;
  }

  /** Samples in clipped runs, as levels.ts counts them. */
  clippedSamples(gains: readonly number[]): number {
    let clipped = 0;
    for (const channel of [0, 1] as const) {
      const { level } = this.wideBounds(channel, gains);
      const run = { length: 0, side: 0, end: 0 };
      const finish = (): void => {
        if (run.length >= CLIPPED_RUN) clipped += run.length;
        run.length = 0;
      };
      for (const wide of level.keys()) {
        if (level[wide]! * SLACK < FULL_SCALE) continue;
        for (const [from, to] of this.stretches(channel, gains, wide, 0, (bound) => bound * SLACK >= FULL_SCALE)) {
          if (from !== run.end) finish();
          const mixed = this.mix(channel, gains, from, to);
          for (let n = 0; n < to - from; n++) {
            const x = mixed[n]!;
            const side = x >= FULL_SCALE ? 1 : x <= -FULL_SCALE ? -1 : 0;
            if (side === 0 || side !== run.side) finish();
            run.side = side;
            if (side !== 0) run.length++;
          }
          run.end = to;
        }
      }
      finish();
    }
    return clipped;
  }

  private wideBounds(channel: 0 | 1, gains: readonly number[]): BlendBounds {
    const count = Math.ceil(this.blocks / WIDE);
    const out = { level: new Float64Array(count), bend: new Float64Array(count) };
    boundsOf(
      this.bounds.map(({ wide }) => wide[channel]),
      gains,
      0,
      out,
      count,
    );
    return out;
  }

  /**
   * The stretches of a wide block, frames, in which the bound of the narrow blocks (with that much of the bends around
   * added) is `high`. Neighbours are joined.
   */
  private *stretches(
    channel: 0 | 1,
    gains: readonly number[],
    wide: number,
    curve: number,
    isHigh: (bound: number) => boolean,
  ): Generator<readonly [number, number]> {
    const { narrow, blocks, frames } = this;
    const first = wide * WIDE;
    const begin = Math.max(0, first - NEAR);
    const end = Math.min(blocks, first + WIDE + NEAR);
    boundsOf(
      this.bounds.map((path) => path.narrow[channel]),
      gains,
      begin,
      narrow,
      end - begin,
    );
    const high: boolean[] = [];
    for (let block = first; block < Math.min(blocks, first + WIDE); block++) {
      const at = block - begin;
      const bound = curve === 0 ? narrow.level[at]! : between(narrow.level, narrow.bend, at, NEAR, end - begin);
      high.push(isHigh(bound));
    }
    for (let n = 0; n < high.length; n++) {
      if (!high[n]) continue;
      const start = n;
      while (high[n + 1]) n++;
      yield [(first + start) * BLOCK, Math.min(frames, (first + n + 1) * BLOCK)];
    }
  }

  /** The blend of one channel from frame `from` to `to`, summed and rounded as a render does; silence beyond the sound. */
  private mix(channel: 0 | 1, gains: readonly number[], from: number, to: number): Float32Array {
    const { sum, mixed, paths, frames } = this;
    const length = to - from;
    sum.fill(0, 0, length);
    const first = Math.max(0, -from);
    const last = Math.min(length, frames - from);
    for (let p = 0; p < paths.length; p++) {
      const gain = gains[p]!;
      if (gain === 0) continue;
      const samples = paths[p]!.channels[channel]!;
      for (let n = first; n < last; n++) sum[n]! += gain * samples[from + n]!;
    }
    for (let n = 0; n < length; n++) mixed[n] = sum[n]!;
    return mixed.subarray(0, length);
  }
}

/** Bounds of `count` blocks of the blend from block `from` on: extremes times gains, added up. */
const boundsOf = (
  paths: readonly Extremes[],
  gains: readonly number[],
  from: number,
  { level, bend }: BlendBounds,
  count: number,
): void => {
  const low = new Float64Array(count);
  level.fill(0, 0, count);
  bend.fill(0, 0, count);
  paths.forEach(({ highest, lowest, bend: bends }, p) => {
    const gain = gains[p]!;
    if (gain === 0) return;
    const size = Math.abs(gain);
    const [top, bottom] = gain > 0 ? [highest, lowest] : [lowest, highest];
    for (let n = 0; n < count; n++) {
      level[n]! += gain * top[from + n]!;
      low[n]! += gain * bottom[from + n]!;
      bend[n]! += size * bends[from + n]!;
    }
  });
  for (let n = 0; n < count; n++) level[n] = Math.max(level[n]!, -low[n]!);
};

/** Bound of the values at and between the samples of block `at`, given the blocks `near` it (interpolation.ts). */
const between = (level: Float64Array, bend: Float64Array, at: number, near: number, count = level.length): number => {
  let levelAround = level[at]!;
  let bendAround = bend[at]!;
  for (let n = Math.max(0, at - near); n <= Math.min(count - 1, at + near); n++) {
    if (level[n]! > levelAround) levelAround = level[n]!;
    if (bend[n]! > bendAround) bendAround = bend[n]!;
  }
  return Math.min(BOUND * levelAround, LEVEL * level[at]! + CURVE * bendAround);
};

const likeliest = (bounds: Float64Array): number => {
  let best = 0;
  for (let n = 1; n < bounds.length; n++) if (bounds[n]! > bounds[best]!) best = n;
  return best;
};
