import { AbsorbingLine, type Absorption, absorptionFilter, lowsFilter } from './absorbing-line.ts';
import { firstOrderPower } from '../filters/first-order.ts';
import { mixSixteen } from './hadamard.ts';
import { AHEAD } from '../filters/interpolation-rows.ts';
import { primeFrom } from './primes.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';

const LINES = 16;
/** Shortest and longest line at size 1 where nothing else is said, seconds. */
const SPAN = [0.019, 0.076] as const;
/** Longest of both that any room may have. */
const LONGEST_SPAN = [0.03, 0.11] as const;
/** Deepest modulation, seconds to either side. */
export const MAX_DEPTH = 0.001;
/** Smoothing of the depth: a quick move would be a quick change of pitch. */
const DEPTH_SECONDS = 0.3;
/** Lines from this one on, the longer half, are modulated. */
const FIRST_MODULATED = 8;
/** Not like any row of the mixing matrix, nor of its two halves, so that no pass leads back into few lines. */
const INPUT_SIGNS = [1, 1, 1, -1, 1, -1, -1, -1, 1, -1, -1, -1, -1, 1, 1, 1];
/**
 * Signs at the outputs, and which mixed signal goes back into which line. Chosen together: what one side hears comes back,
 * as a sum with the same signs, in lines of the other side only. Else the length of each line would be heard as a
 * repetition in the tail (a peak of its autocorrelation). The signs of each side are (-1)^(x0 x1) and (-1)^(x0 x1 + x2) of
 * the bits of the line's number on that side; their Walsh spectra fill different halves of the matrix.
 */
const OUTPUT_SIGNS = [1, 1, 1, 1, 1, 1, -1, -1, 1, -1, 1, -1, 1, -1, -1, 1];
const RETURNS = [8, 0, 9, 1, 10, 2, 11, 3, 12, 4, 13, 5, 14, 6, 15, 7];
/** Eight lines go to each side. */
const OUTPUT_GAIN = 1 / Math.sqrt(8);
/** Octave bands over which pink noise is equally strong, Hz. */
const OCTAVES = [31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000];

/** Settings of the network. */
export interface Room extends Absorption {
  /** Length of the lines, 0.1..1. */
  readonly size: number;
  /** Most that a modulated line is longer or shorter, seconds. */
  readonly depth: number;
  /** Mean speed of modulation, Hz. */
  readonly rate: number;
  /** Shortest and longest line at size 1, seconds: up to 0.03 and 0.11. */
  readonly span?: readonly [number, number];
}

/**
 * Lengths of the lines, samples: in even steps of a ratio, each the next prime that is not yet taken, so that no two have a
 * divisor in common. Long enough for a whole block and for the modulation. Every second pair is swapped, so that even and
 * odd lines are alike long in sum.
 */
export const lineLengths = (
  size: number,
  sampleRate: number,
  [shortest, longest]: readonly [number, number] = SPAN,
): readonly number[] => {
  const floor = CONTROL_FRAMES + AHEAD + 1 + Math.ceil(MAX_DEPTH * sampleRate);
  const lengths: number[] = [];
  for (let i = 0; i < LINES; i++) {
    const wanted = size * sampleRate * shortest * (longest / shortest) ** (i / (LINES - 1));
    lengths.push(primeFrom(Math.max(floor, wanted, (lengths[i - 1] ?? 0) + 1)));
  }
  return lengths.map((_, i) => lengths[i % 4 < 2 ? i : i ^ 1]!);
};

/**
 * Power gain of the network from either input to either output for pink noise in both, from the loss of the lines alone:
 * with power gain p per pass, averaged over the lines, p / (1 - p), averaged over octaves.
 */
export const networkPower = (room: Room, sampleRate: number): number => {
  const lengths = lineLengths(room.size, sampleRate, room.span);
  const filters = lengths.map((length) => absorptionFilter(length, room, sampleRate));
  const lows = lengths.map((length) => lowsFilter(length, room, sampleRate));
  const heard = OCTAVES.filter((hz) => hz < sampleRate / 2);
  const powers = heard.map((hz) => {
    const power = (line: number): number =>
      firstOrderPower(filters[line]!, hz, sampleRate) * firstOrderPower(lows[line]!, hz, sampleRate);
    const pass = lengths.reduce((sum, _, line) => sum + power(line), 0) / LINES;
    return pass / (1 - pass);
  });
  return powers.reduce((sum, power) => sum + power, 0) / powers.length;
};

/** Part 0..1 of a whole that differs for every index and spreads evenly (multiples of the golden ratio). */
const spread = (index: number): number => (index * 0.6180339887498949) % 1;

/**
 * Feedback delay network (Stautner and Puckette 1982; Jot and Chaigne 1991): 16 absorbing lines of mutually prime lengths,
 * mixed by a Hadamard matrix. The left input feeds the even lines and the left output
 * hears them, the right ones the odd lines, so the sides are decorrelated from the first echo on. Sines of different
 * phases and speeds move the longer half of the lines.
 */
export class FeedbackNetwork {
  private readonly lines: readonly AbsorbingLine[];
  private readonly signals: readonly Float64Array[];
  private readonly depth: Ramp;
  private readonly phases = new Float64Array(LINES);
  private readonly offsets = new Float64Array(LINES);
  private readonly nextOffsets = new Float64Array(LINES);
  private rate: number;

  constructor(
    room: Room,
    private readonly sampleRate: number,
  ) {
    const longest = lineLengths(1, sampleRate, LONGEST_SPAN).map(
      (length) => length + Math.ceil(MAX_DEPTH * sampleRate),
    );
    this.lines = lineLengths(room.size, sampleRate, room.span).map(
      (length, i) => new AbsorbingLine(longest[i]! + 2 * CONTROL_FRAMES, length, room, sampleRate),
    );
    this.signals = this.lines.map(() => new Float64Array(CONTROL_FRAMES));
    this.depth = new Ramp(room.depth * sampleRate, sampleRate, DEPTH_SECONDS);
    this.rate = room.rate;
    this.reset();
  }

  set(room: Room): void {
    const lengths = lineLengths(room.size, this.sampleRate, room.span);
    this.lines.forEach((line, i) => line.set(lengths[i]!, room));
    this.depth.set(room.depth * this.sampleRate);
    this.rate = room.rate;
  }

  control(): void {
    for (const line of this.lines) line.control();
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
    const { lines, signals } = this;
    this.read(count, position);
    this.collect(outLeft, 0, count);
    this.collect(outRight, 1, count);
    mixSixteen(signals, count);
    for (let line = 0; line < LINES; line++) {
      const input = line % 2 === 0 ? inLeft : inRight;
      lines[line]!.write(signals[RETURNS[line]!]!, INPUT_SIGNS[line]!, input, count);
    }
  }

  /** Largest magnitude in the lines. */
  get peak(): number {
    return this.lines.reduce((peak, line) => Math.max(peak, line.peak), 0);
  }

  /** Forgets the sound, not the settings. */
  clear(): void {
    for (const line of this.lines) line.clear();
  }

  reset(): void {
    for (const line of this.lines) line.reset();
    this.depth.reset();
    for (let i = FIRST_MODULATED; i < LINES; i++) {
      this.phases[i] = spread(i);
      this.nextOffsets[i] = this.depth.value * Math.sin(2 * Math.PI * spread(i));
    }
  }

  private read(count: number, position: number): void {
    const { lines, signals, offsets, nextOffsets } = this;
    for (let i = 0; i < LINES; i++) {
      const offset = offsets[i]!;
      const step = (nextOffsets[i]! - offset) / CONTROL_FRAMES;
      if (offset === 0 && step === 0) lines[i]!.read(signals[i]!, count, position);
      else lines[i]!.readMoving(signals[i]!, count, position, offset, step);
    }
  }

  /** Sum of every second line from `first` on, with the output signs: four at a time, to write less. */
  private collect(target: Float64Array, first: number, count: number): void {
    const { signals } = this;
    target.fill(0, 0, count);
    for (let line = first; line < LINES; line += 8) {
      const [a, b, c, d] = [signals[line]!, signals[line + 2]!, signals[line + 4]!, signals[line + 6]!];
      const gainA = OUTPUT_GAIN * OUTPUT_SIGNS[line]!;
      const gainB = OUTPUT_GAIN * OUTPUT_SIGNS[line + 2]!;
      const gainC = OUTPUT_GAIN * OUTPUT_SIGNS[line + 4]!;
      const gainD = OUTPUT_GAIN * OUTPUT_SIGNS[line + 6]!;
      for (let i = 0; i < count; i++) target[i]! += gainA * a[i]! + gainB * b[i]! + gainC * c[i]! + gainD * d[i]!;
    }
  }
}
