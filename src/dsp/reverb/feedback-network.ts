import { AbsorbingLine } from './absorbing-line.ts';
import { mixSixteen } from './hadamard.ts';
import { inputGains, lineLengths, LINES, longestLines, MAX_DEPTH, type PerLine, type Room } from './room-lines.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';

/** Smoothing of the depth: a quick move would be a quick change of pitch. */
const DEPTH_SECONDS = 0.3;
/** Far lines from this one on, the longer half, are modulated. */
const FIRST_MODULATED = 8;
/**
 * Signs at the outputs, and which mixed signal of the other group goes into which line. Chosen together: what one side hears
 * comes back, as a sum with the same signs, in lines of the other side only. Else the length of each line would be heard as a
 * repetition in the tail (a peak of its autocorrelation). The signs of each side are (-1)^(x0 x1) and (-1)^(x0 x1 + x2) of
 * the bits of the line's number on that side; their Walsh spectra fill different halves of the matrix.
 */
const OUTPUT_SIGNS = [1, 1, 1, 1, 1, 1, -1, -1, 1, -1, 1, -1, 1, -1, -1, 1];
const SOURCES = [8, 0, 9, 1, 10, 2, 11, 3, 12, 4, 13, 5, 14, 6, 15, 7];
/**
 * Signs of the far lines, a bent function of the bits of the line's number: at low frequencies, where the near lines of a
 * small room are no delay, the two matrices together would otherwise be a mere permutation, and lines would ring alone.
 */
const FAR_SIGNS = [1, 1, 1, -1, 1, 1, 1, -1, 1, 1, 1, -1, -1, -1, -1, 1] as const;
const NEAR_SIGNS = FAR_SIGNS.map((): 1 => 1);
const OUTPUT_GAIN = 1 / Math.sqrt(LINES);

/** Part 0..1 of a whole that differs for every index and spreads evenly (multiples of the golden ratio). */
const spread = (index: number): number => (index * 0.6180339887498949) % 1;

/** Inputs have the signs of the outputs, turned over for the far lines: what enters in both groups then adds up least in the tail. */
const signedInputs = (lengths: PerLine): PerLine => {
  const [near, far] = inputGains(lengths);
  return [near.map((gain, i) => gain * OUTPUT_SIGNS[i]!), far.map((gain, i) => -gain * OUTPUT_SIGNS[i]!)];
};

/** Absorbing lines of one group and the signals that come out of them. */
class LineGroup {
  readonly lines: readonly AbsorbingLine[];
  readonly signals: readonly Float64Array[];

  /** @param inputs gains at the inputs of the lines, signed */
  constructor(
    lengths: readonly number[],
    longest: readonly number[],
    inputs: readonly number[],
    signs: readonly (1 | -1)[],
    room: Room,
    sampleRate: number,
  ) {
    const spare = Math.ceil(MAX_DEPTH * sampleRate) + 2 * CONTROL_FRAMES;
    this.lines = lengths.map(
      (length, i) => new AbsorbingLine(longest[i]! + spare, length, room, inputs[i]!, sampleRate, signs[i]),
    );
    this.signals = lengths.map(() => new Float64Array(CONTROL_FRAMES));
  }

  set(lengths: readonly number[], inputs: readonly number[], room: Room): void {
    this.lines.forEach((line, i) => line.set(lengths[i]!, room, inputs[i]!));
  }

  control(): void {
    for (const line of this.lines) line.control();
  }

  /** Adds every second line from `first` on, with the output signs: four at a time, to write less. */
  collect(target: Float64Array, first: 0 | 1, count: number): void {
    const { signals } = this;
    for (let line = first; line < LINES; line += 8) {
      const [a, b, c, d] = [signals[line]!, signals[line + 2]!, signals[line + 4]!, signals[line + 6]!];
      const gainA = OUTPUT_GAIN * OUTPUT_SIGNS[line]!;
      const gainB = OUTPUT_GAIN * OUTPUT_SIGNS[line + 2]!;
      const gainC = OUTPUT_GAIN * OUTPUT_SIGNS[line + 4]!;
      const gainD = OUTPUT_GAIN * OUTPUT_SIGNS[line + 6]!;
      for (let i = 0; i < count; i++) target[i]! += gainA * a[i]! + gainB * b[i]! + gainC * c[i]! + gainD * d[i]!;
    }
  }

  /** What goes into the lines: the mixed signals of the other group and the inputs. */
  write(
    mixed: readonly Float64Array[],
    left: Float64Array,
    right: Float64Array,
    count: number,
    position: number,
  ): void {
    const { lines } = this;
    for (let i = 0; i < LINES; i++) lines[i]!.write(mixed[SOURCES[i]!]!, i % 2 === 0 ? left : right, count, position);
  }

  get peak(): number {
    return this.lines.reduce((peak, line) => Math.max(peak, line.peak), 0);
  }

  clear(): void {
    for (const line of this.lines) line.clear();
  }

  reset(): void {
    for (const line of this.lines) line.reset();
  }
}

/**
 * Feedback delay network (Stautner and Puckette 1982; Jot and Chaigne 1991) of two groups of 16 absorbing lines of mutually
 * prime lengths, each group mixed by a Hadamard matrix into the other: near lines, as long as the ways between the walls, and
 * far lines, as long as the decay needs. So each way from far line to far line leads over 16 near ones (a scattering matrix;
 * Schlecht and Habets 2020). The left input feeds the even lines and the left output hears them, the right ones the odd
 * lines, so the sides are decorrelated from the first echo on. Sines of different phases and speeds move the longer half of
 * the far lines.
 */
export class FeedbackNetwork {
  private readonly near: LineGroup;
  private readonly far: LineGroup;
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
    const longest = longestLines(sampleRate);
    const inputs = signedInputs(lengths);
    this.near = new LineGroup(lengths[0], longest[0], inputs[0], NEAR_SIGNS, room, sampleRate);
    this.far = new LineGroup(lengths[1], longest[1], inputs[1], FAR_SIGNS, room, sampleRate);
    this.depth = new Ramp(room.depth * sampleRate, sampleRate, DEPTH_SECONDS);
    this.rate = room.rate;
    this.reset();
  }

  set(room: Room): void {
    const lengths = lineLengths(room, this.sampleRate);
    const inputs = signedInputs(lengths);
    this.near.set(lengths[0], inputs[0], room);
    this.far.set(lengths[1], inputs[1], room);
    this.depth.set(room.depth * this.sampleRate);
    this.rate = room.rate;
  }

  control(): void {
    this.near.control();
    this.far.control();
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
    const { near, far } = this;
    this.read(count, position);
    outLeft.fill(0, 0, count);
    outRight.fill(0, 0, count);
    near.collect(outLeft, 0, count);
    far.collect(outLeft, 0, count);
    near.collect(outRight, 1, count);
    far.collect(outRight, 1, count);
    mixSixteen(near.signals, count);
    mixSixteen(far.signals, count);
    near.write(far.signals, inLeft, inRight, count, position);
    far.write(near.signals, inLeft, inRight, count, position);
  }

  /** Largest magnitude in the lines. */
  get peak(): number {
    return Math.max(this.near.peak, this.far.peak);
  }

  /** Forgets the sound, not the settings. */
  clear(): void {
    this.near.clear();
    this.far.clear();
  }

  reset(): void {
    this.near.reset();
    this.far.reset();
    this.depth.reset();
    for (let i = FIRST_MODULATED; i < LINES; i++) {
      this.phases[i] = spread(i);
      this.nextOffsets[i] = this.depth.value * Math.sin(2 * Math.PI * spread(i));
    }
  }

  private read(count: number, position: number): void {
    const { near, far, offsets, nextOffsets } = this;
    for (let i = 0; i < LINES; i++) {
      const offset = offsets[i]!;
      const step = (nextOffsets[i]! - offset) / CONTROL_FRAMES;
      near.lines[i]!.read(near.signals[i]!, count, position);
      if (offset === 0 && step === 0) far.lines[i]!.read(far.signals[i]!, count, position);
      else far.lines[i]!.readMoving(far.signals[i]!, count, position, offset, step);
    }
  }
}
