import { AbsorbingLine, passGain } from './absorbing-line.ts';
import { LineMemory } from './line-memory.ts';
import { MIX_GAIN, mixAcross, mixNeighbours } from './hadamard.ts';
import {
  inputGains,
  lineLengths,
  LINES,
  longestLines,
  LONGEST_WAY,
  MAX_DEPTH,
  type Room,
  wayLengths,
} from './room-lines.ts';
import { TailTaps } from './tail-taps.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';
import { Ring } from '../core/ring.ts';
import { FadingTap } from '../delay/fading-tap.ts';
import { AHEAD } from '../filters/interpolation-rows.ts';

/** Lines that one loop goes over. */
const QUAD = 4;
/** Smoothing of the depth: a quick move would be a quick change of pitch. */
const DEPTH_SECONDS = 0.3;
/** Ways from this one on, the longer half, are modulated. */
const FIRST_MODULATED = LINES / 2;
/** Which line each mixed signal goes into. */
const TARGETS = [1, 3, 5, 7, 9, 11, 13, 15, 0, 2, 4, 6, 8, 10, 12, 14];
/** Signs of the lines, a bent function of the bits of the line's number: no line comes back to itself more than to the others. */
const SIGNS = [1, 1, 1, -1, 1, 1, 1, -1, 1, 1, 1, -1, -1, -1, -1, 1];

/** Part 0..1 of a whole that differs for every index and spreads evenly (multiples of the golden ratio). */
const spread = (index: number): number => (index * 0.6180339887498949) % 1;

/** Gains at the inputs of the lines, with what is lost on the ways to them. */
const entering = (
  lengths: readonly number[],
  ways: readonly number[],
  room: Room,
  sampleRate: number,
): readonly number[] => inputGains(lengths).map((gain, i) => gain * passGain(ways[i]!, room.decay, sampleRate));

/**
 * Feedback delay network (Stautner and Puckette 1982; Jot and Chaigne 1991) of 16 absorbing lines of mutually prime lengths, mixed
 * by a Hadamard matrix. The lines are together several times as long as the decay, so that resonances lie so close that none is
 * heard; what lies between their ends is heard by taps all along them. The left input feeds the even lines, the right one the
 * odd lines, each after a way of its own between the walls. Sines of different phases and speeds move the longer half of the ways.
 */
export class FeedbackNetwork {
  private readonly memory: LineMemory;
  private readonly lines: readonly AbsorbingLine[];
  /** Output of the lines in the last block. */
  private readonly signals: readonly Float64Array[];
  private readonly taps: TailTaps;
  private readonly inputs: readonly [Ring, Ring];
  private readonly ways: readonly FadingTap[];
  private readonly arriving = new Float64Array(CONTROL_FRAMES);
  private readonly depth: Ramp;
  private readonly phases = new Float64Array(LINES);
  private readonly offsets = new Float64Array(LINES);
  private readonly nextOffsets = new Float64Array(LINES);
  private rate: number;

  constructor(
    room: Room,
    private readonly sampleRate: number,
  ) {
    const lengths = lineLengths(room, sampleRate);
    const ways = wayLengths(room, sampleRate);
    const gains = entering(lengths, ways, room, sampleRate);
    this.memory = new LineMemory(longestLines(sampleRate).map((longest) => longest + CONTROL_FRAMES));
    this.lines = lengths.map(
      (length, i) =>
        new AbsorbingLine(this.memory.rings[i]!, length, room, gains[i]!, sampleRate, MIX_GAIN * SIGNS[i]!),
    );
    this.signals = lengths.map(() => new Float64Array(CONTROL_FRAMES));
    this.taps = new TailTaps(this.memory, lengths, room, sampleRate);
    const longestWay = Math.ceil((LONGEST_WAY + MAX_DEPTH) * sampleRate) + AHEAD + 2 * CONTROL_FRAMES;
    this.inputs = [new Ring(longestWay), new Ring(longestWay)];
    this.ways = ways.map((way) => new FadingTap(way, sampleRate));
    this.depth = new Ramp(room.depth * sampleRate, sampleRate, DEPTH_SECONDS);
    this.rate = room.rate;
    this.reset();
  }

  set(room: Room): void {
    const { sampleRate } = this;
    const lengths = lineLengths(room, sampleRate);
    const ways = wayLengths(room, sampleRate);
    const gains = entering(lengths, ways, room, sampleRate);
    this.lines.forEach((line, i) => line.set(lengths[i]!, room, gains[i]!));
    this.ways.forEach((way, i) => way.set(ways[i]!));
    this.taps.set(lengths, room);
    this.depth.set(room.depth * sampleRate);
    this.rate = room.rate;
  }

  control(): void {
    for (const line of this.lines) line.control();
    for (const way of this.ways) way.control();
    this.taps.control();
    this.depth.control();
    const turn = (CONTROL_FRAMES * this.rate) / this.sampleRate;
    for (let i = FIRST_MODULATED; i < LINES; i++) {
      this.offsets[i] = this.nextOffsets[i]!;
      this.phases[i] = (this.phases[i]! + turn * (0.75 + 0.5 * spread(3 * i))) % 1;
      this.nextOffsets[i] = this.depth.end * Math.sin(2 * Math.PI * this.phases[i]!);
    }
  }

  /**
   * Frames 0..count-1, at most CONTROL_FRAMES, from the inputs to the outputs (other arrays than the inputs); `position`
   * frames of the control block are already done.
   */
  process(
    inLeft: Float64Array,
    inRight: Float64Array,
    outLeft: Float64Array,
    outRight: Float64Array,
    count: number,
    position: number,
  ): void {
    this.inputs[0].write(inLeft, count);
    this.inputs[1].write(inRight, count);
    this.taps.process(outLeft, outRight, count, position);
    for (let first = 0; first < LINES; first += QUAD) this.read(first, count, position);
    this.write(count, position);
  }

  /** Largest magnitude in the lines and on the ways to them. */
  get peak(): number {
    return this.lines.reduce(
      (peak, line) => Math.max(peak, line.peak),
      Math.max(this.inputs[0].peak, this.inputs[1].peak),
    );
  }

  /** Forgets the sound, not the settings. */
  clear(): void {
    for (const line of this.lines) line.clear();
    for (const input of this.inputs) input.clear();
    this.taps.clear();
  }

  reset(): void {
    for (const line of this.lines) line.reset();
    for (const input of this.inputs) input.clear();
    for (const way of this.ways) way.reset();
    this.taps.reset();
    this.depth.reset();
    for (let i = FIRST_MODULATED; i < LINES; i++) {
      this.phases[i] = spread(i);
      this.nextOffsets[i] = this.depth.value * Math.sin(2 * Math.PI * spread(i));
    }
  }

  /** Reads four lines and begins to mix what comes out of them. */
  private read(first: number, count: number, position: number): void {
    const { lines, signals } = this;
    if (this.isStill(first)) {
      this.readStill(first, count);
      return;
    }
    for (let i = first; i < first + QUAD; i += 2)
      AbsorbingLine.readBoth(lines[i]!, lines[i + 1]!, signals[i]!, signals[i + 1]!, count, position);
    mixNeighbours(signals, first, count);
  }

  /** True when nothing moves in four lines, and their first loss is the only one. */
  private isStill(first: number): boolean {
    for (let i = first; i < first + QUAD; i++) if (!this.lines[i]!.still) return false;
    return true;
  }

  /** As each line's own `read`, and `mixNeighbours`, to the bit. Four filters side by side take little longer than one: each waits for its last sample. */
  private readStill(first: number, count: number): void {
    const { lines, memory, signals } = this;
    const lineA = lines[first]!;
    const lineB = lines[first + 1]!;
    const lineC = lines[first + 2]!;
    const lineD = lines[first + 3]!;
    const a = signals[first]!;
    const b = signals[first + 1]!;
    const c = signals[first + 2]!;
    const d = signals[first + 3]!;
    const { samples } = memory;
    const fromA = memory.find(first, lineA.tap.shortest, count, 0);
    const fromB = memory.find(first + 1, lineB.tap.shortest, count, 1);
    const fromC = memory.find(first + 2, lineC.tap.shortest, count, 2);
    const fromD = memory.find(first + 3, lineD.tap.shortest, count, 3);
    const a0 = lineA.loss.b0.value;
    const b0 = lineB.loss.b0.value;
    const c0 = lineC.loss.b0.value;
    const d0 = lineD.loss.b0.value;
    const a1 = lineA.loss.b1.value;
    const b1 = lineB.loss.b1.value;
    const c1 = lineC.loss.b1.value;
    const d1 = lineD.loss.b1.value;
    const a2 = lineA.loss.a1.value;
    const b2 = lineB.loss.a1.value;
    const c2 = lineC.loss.a1.value;
    const d2 = lineD.loss.a1.value;
    let memoryA = lineA.loss.memory;
    let memoryB = lineB.loss.memory;
    let memoryC = lineC.loss.memory;
    let memoryD = lineD.loss.memory;
    for (let i = 0; i < count; i++) {
      const inA = samples[fromA + i]!;
      const inB = samples[fromB + i]!;
      const inC = samples[fromC + i]!;
      const inD = samples[fromD + i]!;
      const outA = a0 * inA + memoryA;
      const outB = b0 * inB + memoryB;
      const outC = c0 * inC + memoryC;
      const outD = d0 * inD + memoryD;
      memoryA = a1 * inA - a2 * outA;
      memoryB = b1 * inB - b2 * outB;
      memoryC = c1 * inC - c2 * outC;
      memoryD = d1 * inD - d2 * outD;
      const sum = outA + outB;
      const difference = outA - outB;
      const otherSum = outC + outD;
      const otherDifference = outC - outD;
      a[i] = sum + otherSum;
      b[i] = difference + otherDifference;
      c[i] = sum - otherSum;
      d[i] = difference - otherDifference;
    }
    lineA.loss.memory = memoryA;
    lineB.loss.memory = memoryB;
    lineC.loss.memory = memoryC;
    lineD.loss.memory = memoryD;
  }

  /** Input of the lines: the mixed signals, and the sound from the ways. */
  private write(count: number, position: number): void {
    const { signals } = this;
    for (let n = 0; n < QUAD; n++) {
      mixAcross(signals, n, count);
      for (let source = n; source < LINES; source += QUAD)
        this.writeLine(TARGETS[source]!, signals[source]!, count, position);
    }
  }

  private writeLine(i: number, mixed: Float64Array, count: number, position: number): void {
    const { arriving, offsets } = this;
    const way = this.ways[i]!;
    const line = this.lines[i]!;
    const input = this.inputs[i % 2]!;
    const offset = offsets[i]!;
    const step = (this.nextOffsets[i]! - offset) / CONTROL_FRAMES;
    const moves = offset !== 0 || step !== 0;
    if (!moves && way.still && input.reaches(way.shortest + count, count)) {
      line.write(mixed, input.samples, input.placeOf(way.shortest + count), count, position);
      return;
    }
    if (moves) way.readMoving(input, arriving, count, position, offset, step, count);
    else way.read(input, arriving, count, position, count);
    line.write(mixed, arriving, 0, count, position);
  }
}
