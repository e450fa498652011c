import { CONTROL_FRAMES } from '../core/processor.ts';
import { LineMemory } from './line-memory.ts';

const SPEED_OF_SOUND = 343;
/** Reflection factor of a wall (amplitude). */
const WALL = 0.8;
/** Farthest image sources, rooms to each side. */
const FARTHEST = 2;
/** Reflections of each input. */
const COUNT = 12;
const FADE_SECONDS = 0.04;

type Point = readonly [number, number, number];

/** A rectangular room with two sources and a listener between two walls, metres. */
export interface Box {
  readonly size: Point;
  readonly sources: readonly [Point, Point];
  readonly listener: Point;
}

/** One reflection: from input `from` (0 left, 1 right) to output `to`. */
export interface Reflection {
  readonly seconds: number;
  readonly gain: number;
  readonly from: 0 | 1;
  readonly to: 0 | 1;
}

const IMAGES = Array.from({ length: 2 * FARTHEST + 1 }, (_, n) => n - FARTHEST);
const imageOf = (n: number, length: number, at: number): number => n * length + (n % 2 === 0 ? at : length - at);

/** First reflections of one source by image sources (Allen and Berkley 1979), later than the direct sound by `seconds`. */
const reflectionsOf = ({ size, sources, listener }: Box, from: 0 | 1): readonly Reflection[] => {
  const [sx, sy, sz] = sources[from];
  const [x, y, z] = listener;
  const direct = Math.hypot(sx - x, sy - y, sz - z);
  const all = IMAGES.flatMap((i) => IMAGES.flatMap((j) => IMAGES.map((k) => [i, j, k] as const)));
  return all
    .filter(([i, j, k]) => i !== 0 || j !== 0 || k !== 0)
    .map(([i, j, k]): Reflection => {
      const across = imageOf(i, size[0], sx) - x;
      const way = Math.hypot(across, imageOf(j, size[1], sy) - y, imageOf(k, size[2], sz) - z);
      const gain = (WALL ** (Math.abs(i) + Math.abs(j) + Math.abs(k)) * direct) / way;
      return { seconds: (way - direct) / SPEED_OF_SOUND, gain, from, to: across < 0 ? 0 : 1 };
    })
    .sort((a, b) => a.seconds - b.seconds)
    .slice(0, COUNT);
};

/** Frequencies in even steps of a ratio, at which pink noise is equally strong, Hz. */
const PINK_HZ = Array.from({ length: 81 }, (_, n) => 25 * 2 ** (n / 8.5));
/** Size at which levels are set: they differ little at others. */
const LEVEL_SIZE = 0.5;

/** Power gain into output `to` for pink noise in both inputs that has nothing in common. */
const pinkPower = (reflections: readonly Reflection[], to: 0 | 1): number => {
  const powerAt = (hz: number, from: 0 | 1): number => {
    let re = 0;
    let im = 0;
    for (const reflection of reflections) {
      if (reflection.to !== to || reflection.from !== from) continue;
      const angle = 2 * Math.PI * hz * LEVEL_SIZE * reflection.seconds;
      re += reflection.gain * Math.cos(angle);
      im += reflection.gain * Math.sin(angle);
    }
    return re * re + im * im;
  };
  return PINK_HZ.reduce((sum, hz) => sum + powerAt(hz, 0) + powerAt(hz, 1), 0) / PINK_HZ.length;
};

/**
 * First reflections of both sources of a room; each comes out on the side that it arrives from. Their level is set so that
 * pink noise comes out of each output as loud as it went in.
 */
export const earlyPattern = (box: Box): readonly Reflection[] => {
  const all = [...reflectionsOf(box, 0), ...reflectionsOf(box, 1)];
  const scales = [1 / Math.sqrt(pinkPower(all, 0)), 1 / Math.sqrt(pinkPower(all, 1))] as const;
  return all.map((reflection) => ({ ...reflection, gain: reflection.gain * scales[reflection.to] }));
};

/** Last reflection of a pattern at `size`, samples. */
export const earlyLength = (pattern: readonly Reflection[], size: number, sampleRate: number): number =>
  pattern.reduce((last, { seconds }) => Math.max(last, Math.round(seconds * size * sampleRate)), 0);

/** Reflections that one loop adds. */
const QUAD = 4;

/** Those that arrive at one output, filled up to whole quads by some that are not heard. */
const arrivingAt = (pattern: readonly Reflection[], to: 0 | 1): readonly Reflection[] => {
  const all = pattern.filter((reflection) => reflection.to === to);
  const silent: Reflection = { seconds: 0, gain: 0, from: 0, to };
  return [...all, ...Array.from({ length: -all.length & (QUAD - 1) }, () => silent)];
};

/** First reflections of two channels in one of several patterns, at a size; both change by crossfade. An empty one is silent. */
export class EarlyReflections {
  private readonly memory: LineMemory;
  /** Of each pattern, those of the left output and those of the right one. */
  private readonly sides: readonly (readonly [readonly Reflection[], readonly Reflection[]])[];
  private readonly spare = [new Float64Array(CONTROL_FRAMES), new Float64Array(CONTROL_FRAMES)] as const;
  private pattern: number;
  private size: number;
  private nextPattern: number;
  private nextSize: number;
  private wantedPattern: number;
  private wantedSize: number;
  /** Frames of the fade done when this control block began. */
  private done = 0;
  private readonly fadeFrames: number;

  constructor(
    private readonly patterns: readonly (readonly Reflection[])[],
    pattern: number,
    size: number,
    private readonly sampleRate: number,
  ) {
    const longest = Math.max(...patterns.map((each) => earlyLength(each, 1, sampleRate)));
    this.memory = new LineMemory([longest + CONTROL_FRAMES, longest + CONTROL_FRAMES]);
    this.sides = patterns.map((each) => [arrivingAt(each, 0), arrivingAt(each, 1)]);
    this.pattern = this.nextPattern = this.wantedPattern = pattern;
    this.size = this.nextSize = this.wantedSize = size;
    this.fadeFrames = CONTROL_FRAMES * Math.ceil((FADE_SECONDS * sampleRate) / CONTROL_FRAMES);
  }

  /** @param size part of the full size, 0..1 */
  set(pattern: number, size: number): void {
    this.wantedPattern = pattern;
    this.wantedSize = size;
  }

  control(): void {
    if (this.fading) {
      this.done += CONTROL_FRAMES;
      if (this.done === this.fadeFrames) this.arrive();
    }
    if (!this.fading) {
      this.nextPattern = this.wantedPattern;
      this.nextSize = this.wantedSize;
      this.done = 0;
    }
  }

  /** Frames 0..count-1 of the inputs to those of the outputs (other arrays); `position` frames of the block are done. */
  process(
    inLeft: Float64Array,
    inRight: Float64Array,
    outLeft: Float64Array,
    outRight: Float64Array,
    count: number,
    position: number,
  ): void {
    const { memory, spare } = this;
    memory.rings[0]!.write(inLeft, count);
    memory.rings[1]!.write(inRight, count);
    this.reflect(this.pattern, this.size, outLeft, outRight, count);
    if (!this.fading) return;
    this.reflect(this.nextPattern, this.nextSize, spare[0], spare[1], count);
    for (let i = 0; i < count; i++) {
      const x = (this.done + position + i) / this.fadeFrames;
      const share = x * x * x * (10 + x * (6 * x - 15));
      outLeft[i]! += share * (spare[0][i]! - outLeft[i]!);
      outRight[i]! += share * (spare[1][i]! - outRight[i]!);
    }
  }

  get peak(): number {
    return Math.max(...this.memory.rings.map((ring) => ring.peak));
  }

  /** True when it is silent. */
  get silent(): boolean {
    return this.patterns[this.pattern]!.length === 0 && this.patterns[this.nextPattern]!.length === 0;
  }

  clear(): void {
    for (const ring of this.memory.rings) ring.clear();
  }

  reset(): void {
    this.clear();
    this.nextPattern = this.wantedPattern;
    this.nextSize = this.wantedSize;
    this.arrive();
  }

  private get fading(): boolean {
    return this.pattern !== this.nextPattern || this.size !== this.nextSize;
  }

  private arrive(): void {
    this.pattern = this.nextPattern;
    this.size = this.nextSize;
    this.done = 0;
  }

  private reflect(pattern: number, size: number, outLeft: Float64Array, outRight: Float64Array, count: number): void {
    const [left, right] = this.sides[pattern]!;
    this.reflectTo(left, size, outLeft, count);
    this.reflectTo(right, size, outRight, count);
  }

  private reflectTo(reflections: readonly Reflection[], size: number, target: Float64Array, count: number): void {
    target.fill(0, 0, count);
    for (let n = 0; n < reflections.length; n += QUAD) this.addFour(reflections, n, size, target, count);
  }

  /** Adds four reflections in one loop: one by one they take twice the time. */
  private addFour(
    reflections: readonly Reflection[],
    n: number,
    size: number,
    target: Float64Array,
    count: number,
  ): void {
    const { samples } = this.memory;
    const a = reflections[n]!;
    const b = reflections[n + 1]!;
    const c = reflections[n + 2]!;
    const d = reflections[n + 3]!;
    const atA = this.find(a, size, count, 0);
    const atB = this.find(b, size, count, 1);
    const atC = this.find(c, size, count, 2);
    const atD = this.find(d, size, count, 3);
    const { gain: gainA } = a;
    const { gain: gainB } = b;
    const { gain: gainC } = c;
    const { gain: gainD } = d;
    for (let i = 0; i < count; i++)
      target[i]! +=
        gainA * samples[atA + i]! + gainB * samples[atB + i]! + (gainC * samples[atC + i]! + gainD * samples[atD + i]!);
  }

  /** Where the frames lie that a reflection gives now, the last ones written already. */
  private find({ seconds, from }: Reflection, size: number, count: number, piece: number): number {
    return this.memory.find(from, Math.round(seconds * size * this.sampleRate) + count, count, piece);
  }
}
