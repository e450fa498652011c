import { CONTROL_FRAMES } from '../core/processor.ts';
import { smoothStep } from '../core/smooth-step.ts';
import {
  bothRun,
  filterBoth,
  type FirstOrder,
  FirstOrderFilter,
  type InTurn,
  runInTurn,
} from '../filters/first-order.ts';
import { absorbedPower, type Absorbers, absorbers, type Absorption, passGain } from './absorbing-line.ts';
import { Stage } from './diffuser.ts';
import type { LineMemory } from './line-memory.ts';
import { LINE_SHARES, type Room } from './room-lines.ts';
import { numbersFrom, signsBySeed } from './tap-signs.ts';

/** Taps on all lines together: fewer leave gaps in long decays, and each is heard more as a repetition of the others. */
const TAPS = 128;
/** A tap lies anywhere within this part of its share of the line: even in time, but no two at equal distances. */
const JITTER = 0.5;
/** How much closer together the taps are at the beginning of a line; 1 is not at all. */
const CROWDED = 1.3;
/** Stretches of the longest line; taps within one are absorbed alike but for the gain. */
const STRETCHES = 12;
/** Where they begin, parts of the longest line, and the last ends: short ones first, for what is damped is soon gone. */
const EDGES = Array.from({ length: STRETCHES + 1 }, (_, n) => (n / STRETCHES) ** 1.7);
/** Parts of the longest line after which sound leaves a stretch in the mean. */
const MIDDLES = EDGES.slice(1).map((end, n) => (EDGES[n]! + end) / 2);
/** Taps from this stretch on are smeared: they are older than what the all-passes hold back. */
const FIRST_SMEARED = 3;
/** All-passes after these, left and right, seconds. They fill what lies between the taps of long lines. */
const SMEAR = [
  [0.0217, 0.0413],
  [0.0229, 0.0401],
] as const;
/** What they hold back, seconds: each its length, in the mean over all frequencies. */
const SMEAR_DELAY = SMEAR[0][0] + SMEAR[0][1];
const FADE_SECONDS = 0.04;

/** One tap of a line. */
interface Tap {
  readonly line: number;
  /** Its place, part 0..1 of the line's length. */
  readonly share: number;
  /** Part of the line that it stands for, 0..1. */
  readonly span: number;
  readonly stretch: number;
  /** True for the first one of a line: it is heard on the side of the line alone. */
  readonly first: boolean;
  /** Its gain to both sides, or to its own, without its sign. */
  readonly gain: number;
  /** Its sign where the room has no seed of its own. */
  readonly sign: number;
}

/** Starts of the lines, in sixteenths of a tap's share: such that taps of all lines together are spread evenly. */
const STARTS = [0, 8, 4, 12, 2, 10, 6, 14, 1, 9, 5, 13, 3, 11, 7, 15];

/**
 * Taps of all lines with random signs: velvet noise (Karjalainen and Jarvelainen 2007). The first one of each line is
 * heard on the side of the line alone, so that a sound is heard first where it comes from.
 */
const tapsOf = (seed: number): readonly Tap[] => {
  const random = numbersFrom(seed);
  const whole = LINE_SHARES.reduce((sum, share) => sum + share, 0);
  return LINE_SHARES.flatMap((length, line) => {
    const count = Math.max(2, Math.round((TAPS * length) / whole));
    return Array.from({ length: count }, (_, n): Tap => {
      const place = (x: number): number => (x / count) ** CROWDED;
      const share = place(n + ((STARTS[line]! / 16 + JITTER * (random() - 0.5) + 1) % 1));
      const stretch =
        n === 0
          ? 0
          : Math.max(
              0,
              EDGES.findLastIndex((edge) => edge < share * length),
            );
      const first = n === 0;
      const sign = random() < 0.5 ? -1 : 1;
      const gain = first ? Math.SQRT2 : 1;
      return { line, share, span: place(n + 1) - place(n), stretch, first, gain, sign };
    });
  });
};

/** Taps that one loop goes over, and those of a shorter one for what is left. */
const OCTET = 8;
const QUAD = 4;
/** Filled up to whole quads by taps that are not heard. */
const inQuads = (some: readonly Tap[]): readonly Tap[] => {
  const silent = { line: 0, share: 0, span: 0, stretch: 0, first: false, gain: 0, sign: 1 };
  return [...some, ...Array.from({ length: -some.length & (QUAD - 1) }, () => silent)];
};

const heard = tapsOf(12345);
const sideOf = (odd: 0 | 1): readonly Tap[] => inQuads(heard.filter(({ first, line }) => first && line % 2 === odd));
/** In the order in which they are added: first ones left and right, then the others by stretch. */
const order = [
  sideOf(0),
  sideOf(1),
  ...MIDDLES.map((_, n) => inQuads(heard.filter(({ first, stretch }) => !first && stretch === n))),
];
const taps = order.flat();
const lineOf = taps.map(({ line }) => line);
const SIGNS = signsBySeed(taps.length);
/** First tap of each part of the order, and the end of the last. */
const FIRSTS = order.reduce<readonly number[]>((ends, { length }) => [...ends, ends.at(-1)! + length], [0]);

/** Settings of the taps. */
type TailRoom = Absorption & Pick<Room, 'signs'>;

/** Where the taps are, samples, and their gains. */
interface Places {
  readonly delays: Int32Array;
  readonly gains: Float64Array;
}

const noPlaces = (): Places => ({ delays: new Int32Array(taps.length), gains: new Float64Array(taps.length) });

const copy = (from: Places, to: Places): void => {
  to.delays.set(from.delays);
  to.gains.set(from.gains);
};

/** Power of a tap without any loss: of all taps together 1 when each line carries as much. */
const powerOf = ({ line, span }: Tap, lengths: readonly number[]): number =>
  (span * lengths[line]!) / lengths.reduce((sum, length) => sum + length, 0);

const placeTaps = (
  target: Places,
  lengths: readonly number[],
  { decay, signs: seed = 0 }: TailRoom,
  sampleRate: number,
): void => {
  const held = SMEAR_DELAY * sampleRate;
  const signs = seed === 0 ? null : SIGNS.get(seed)!;
  taps.forEach((tap, n) => {
    const age = tap.share * lengths[tap.line]!;
    const after = tap.stretch < FIRST_SMEARED ? 0 : held;
    const delay = Math.max(CONTROL_FRAMES, Math.round(age - after));
    const level = passGain(delay, decay, sampleRate) * Math.sqrt(powerOf(tap, lengths));
    target.delays[n] = delay;
    target.gains[n] = level * (signs ? signs[n]! : tap.sign) * tap.gain;
  });
};

/** What highs and lows lose more than the rest from the middle of the stretch before, or from the start. Wires without damping. */
const lossesOf = (
  lengths: readonly number[],
  stretch: number,
  absorption: Absorption,
  sampleRate: number,
): Absorbers => {
  const longest = lengths.reduce((most, length) => Math.max(most, length), 0);
  const length = longest * (MIDDLES[stretch]! - (MIDDLES[stretch - 1] ?? 0));
  const [[b0, b1, a1], again, lows] = absorbers(length, absorption, sampleRate);
  const flat = passGain(absorption.falling === true ? length / 2 : length, absorption.decay, sampleRate);
  const without: FirstOrder = [b0 / flat, b1 / flat, a1];
  return [without, absorption.falling === true ? without : again, lows];
};

/**
 * Power that all taps give to either side for noise at `hz`.
 *
 * @param powers power that goes into each line
 */
export const tapsPower = (
  lengths: readonly number[],
  powers: readonly number[],
  absorption: Absorption,
  hz: number,
  sampleRate: number,
): number => {
  const passes: number[] = [];
  for (let stretch = 0; stretch < STRETCHES; stretch++) {
    const power = absorbedPower(lossesOf(lengths, stretch, absorption, sampleRate), hz, sampleRate);
    passes.push(power * (passes[stretch - 1] ?? 1));
  }
  return taps.reduce((sum, tap) => {
    const flat = passGain(tap.share * lengths[tap.line]!, absorption.decay, sampleRate) ** 2;
    return sum + powers[tap.line]! * powerOf(tap, lengths) * flat * passes[tap.stretch]!;
  }, 0);
};

/** The loss of one stretch on both sides. */
class StretchLoss {
  private readonly left: readonly FirstOrderFilter[];
  private readonly right: readonly FirstOrderFilter[];
  /** The two that highs may lose by. */
  private readonly highsLeft: InTurn;
  private readonly highsRight: InTurn;
  /** True when it changes nothing and nothing moves. */
  private wire = false;

  constructor(losses: Absorbers, sampleRate: number) {
    this.left = losses.map((loss) => new FirstOrderFilter(loss, sampleRate));
    this.right = losses.map((loss) => new FirstOrderFilter(loss, sampleRate));
    this.highsLeft = [this.left[0]!, this.left[1]!];
    this.highsRight = [this.right[0]!, this.right[1]!];
  }

  set(losses: Absorbers): void {
    this.wire = false;
    losses.forEach((loss, n) => {
      this.left[n]!.set(loss);
      this.right[n]!.set(loss);
    });
  }

  control(): void {
    if (this.wire) return;
    for (const filter of this.left) filter.control();
    for (const filter of this.right) filter.control();
    this.wire = this.left.every(({ wire }) => wire) && this.right.every(({ wire }) => wire);
  }

  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    if (this.wire) return;
    const { left: a, right: b } = this;
    if (bothRun(this.highsLeft) && bothRun(this.highsRight)) {
      runInTurn(this.highsLeft, this.highsRight, left, right, count);
    } else {
      filterBoth(a[0]!, b[0]!, left, right, count, position);
      filterBoth(a[1]!, b[1]!, left, right, count, position);
    }
    filterBoth(a[2]!, b[2]!, left, right, count, position);
  }

  clear(): void {
    for (const filter of this.left) filter.clear();
    for (const filter of this.right) filter.clear();
  }

  reset(): void {
    for (const filter of this.left) filter.reset();
    for (const filter of this.right) filter.reset();
  }
}

/**
 * What is heard of the lines: taps all along them, so that lines as long as the decay needs leave no gaps, and the level
 * falls evenly from the first one on (the taps hear what the lines hold, wherever it is). A sound is absorbed by its age: from the oldest stretch to the youngest, each adds its loss to all before it. Places
 * move by crossfade.
 */
export class TailTaps {
  private readonly now = noPlaces();
  private readonly next = noPlaces();
  private readonly wanted = noPlaces();
  /** True when `wanted` is not yet `next`. */
  private moved = false;
  private fading = false;
  /** Frames of the fade done when this control block began. */
  private done = 0;
  private readonly shape: Float64Array;
  private readonly losses: readonly StretchLoss[];
  private readonly smear: readonly [readonly Stage[], readonly Stage[]];
  /** Where the taps in hand are read from. */
  private readonly starts = new Int32Array(OCTET);
  private readonly spareLeft = new Float64Array(CONTROL_FRAMES);
  private readonly spareRight = new Float64Array(CONTROL_FRAMES);

  constructor(
    private readonly memory: LineMemory,
    lengths: readonly number[],
    room: TailRoom,
    private readonly sampleRate: number,
  ) {
    const frames = CONTROL_FRAMES * Math.ceil((FADE_SECONDS * sampleRate) / CONTROL_FRAMES);
    this.shape = Float64Array.from({ length: frames }, (_, i) => smoothStep(i / frames));
    this.losses = Array.from(
      { length: STRETCHES },
      (_, stretch) => new StretchLoss(lossesOf(lengths, stretch, room, sampleRate), sampleRate),
    );
    const stages = (seconds: readonly number[]): readonly Stage[] =>
      seconds.map((length) => new Stage(length, 1, room.decay, sampleRate));
    this.smear = [stages(SMEAR[0]), stages(SMEAR[1])];
    placeTaps(this.wanted, lengths, room, sampleRate);
    copy(this.wanted, this.now);
    copy(this.wanted, this.next);
  }

  set(lengths: readonly number[], room: TailRoom): void {
    placeTaps(this.wanted, lengths, room, this.sampleRate);
    this.moved = true;
    this.losses.forEach((loss, stretch) => loss.set(lossesOf(lengths, stretch, room, this.sampleRate)));
    for (const side of this.smear) for (const stage of side) stage.set(1, room.decay);
  }

  control(): void {
    if (this.fading) {
      this.done += CONTROL_FRAMES;
      if (this.done === this.shape.length) this.arrive();
    }
    if (!this.fading && this.moved) {
      copy(this.wanted, this.next);
      this.moved = false;
      this.fading = true;
      this.done = 0;
    }
    for (const loss of this.losses) loss.control();
    for (const side of this.smear) for (const stage of side) stage.control();
  }

  /** Frames 0..count-1 of both sides; `position` frames of the control block are already done. To be called before the lines are written. */
  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    left.fill(0, 0, count);
    right.fill(0, 0, count);
    for (let stretch = STRETCHES - 1; stretch >= 0; stretch--) {
      if (stretch === FIRST_SMEARED - 1) {
        for (const stage of this.smear[0]) stage.process(left, count, position);
        for (const stage of this.smear[1]) stage.process(right, count, position);
      }
      this.addStretch(stretch, left, right, count, position);
      this.losses[stretch]!.process(left, right, count, position);
    }
  }

  /** Forgets the sound, not the settings. */
  clear(): void {
    for (const loss of this.losses) loss.clear();
    for (const side of this.smear) for (const stage of side) stage.clear();
  }

  reset(): void {
    copy(this.wanted, this.next);
    this.moved = false;
    this.arrive();
    for (const loss of this.losses) loss.reset();
    for (const side of this.smear) for (const stage of side) stage.reset();
  }

  private arrive(): void {
    copy(this.next, this.now);
    this.fading = false;
    this.done = 0;
  }

  private addStretch(stretch: number, left: Float64Array, right: Float64Array, count: number, position: number): void {
    if (!this.fading) {
      this.addTaps(this.now, stretch, left, right, count);
      return;
    }
    const { done, shape, spareLeft, spareRight } = this;
    for (let turn = 0; turn < 2; turn++) {
      spareLeft.fill(0, 0, count);
      spareRight.fill(0, 0, count);
      this.addTaps(turn === 0 ? this.now : this.next, stretch, spareLeft, spareRight, count);
      for (let i = 0; i < count; i++) {
        const there = shape[done + position + i]!;
        const share = turn === 0 ? 1 - there : there;
        left[i]! += share * spareLeft[i]!;
        right[i]! += share * spareRight[i]!;
      }
    }
  }

  private addTaps(places: Places, stretch: number, left: Float64Array, right: Float64Array, count: number): void {
    const end = FIRSTS[stretch + 3]!;
    let n = FIRSTS[stretch + 2]!;
    for (; n + OCTET <= end; n += OCTET) this.addEight(places, n, left, right, count);
    for (; n < end; n += QUAD) this.addFour(places, n, left, right, count);
    if (stretch > 0) return;
    for (n = FIRSTS[0]!; n < FIRSTS[1]!; n += QUAD) this.addToOne(places, n, left, count);
    for (; n < FIRSTS[2]!; n += QUAD) this.addToOne(places, n, right, count);
  }

  /** Finds read positions of taps from `n` on. */
  private find({ delays }: Places, n: number, some: number, count: number): Int32Array {
    const { memory, starts } = this;
    for (let k = 0; k < some; k++) starts[k] = memory.find(lineOf[n + k]!, delays[n + k]!, count, k);
    return starts;
  }

  /** Adds four taps to one side. */
  private addToOne(places: Places, n: number, target: Float64Array, count: number): void {
    const { samples } = this.memory;
    const { gains } = places;
    const starts = this.find(places, n, QUAD, count);
    const atA = starts[0]!;
    const atB = starts[1]!;
    const atC = starts[2]!;
    const atD = starts[3]!;
    const gainA = gains[n]!;
    const gainB = gains[n + 1]!;
    const gainC = gains[n + 2]!;
    const gainD = gains[n + 3]!;
    for (let i = 0; i < count; i++)
      target[i]! +=
        gainA * samples[atA + i]! + gainB * samples[atB + i]! + (gainC * samples[atC + i]! + gainD * samples[atD + i]!);
  }

  /** Adds four taps to both sides: right hears every second one turned over. */
  private addFour(places: Places, n: number, left: Float64Array, right: Float64Array, count: number): void {
    const { samples } = this.memory;
    const { gains } = places;
    const starts = this.find(places, n, QUAD, count);
    const atA = starts[0]!;
    const atB = starts[1]!;
    const atC = starts[2]!;
    const atD = starts[3]!;
    const gainA = gains[n]!;
    const gainB = gains[n + 1]!;
    const gainC = gains[n + 2]!;
    const gainD = gains[n + 3]!;
    for (let i = 0; i < count; i++) {
      const even = gainA * samples[atA + i]! + gainC * samples[atC + i]!;
      const odd = gainB * samples[atB + i]! + gainD * samples[atD + i]!;
      left[i]! += even + odd;
      right[i]! += even - odd;
    }
  }

  /** The same with eight. */
  private addEight(places: Places, n: number, left: Float64Array, right: Float64Array, count: number): void {
    const { samples } = this.memory;
    const { gains } = places;
    const starts = this.find(places, n, OCTET, count);
    const atA = starts[0]!;
    const atB = starts[1]!;
    const atC = starts[2]!;
    const atD = starts[3]!;
    const atE = starts[4]!;
    const atF = starts[5]!;
    const atG = starts[6]!;
    const atH = starts[7]!;
    const gainA = gains[n]!;
    const gainB = gains[n + 1]!;
    const gainC = gains[n + 2]!;
    const gainD = gains[n + 3]!;
    const gainE = gains[n + 4]!;
    const gainF = gains[n + 5]!;
    const gainG = gains[n + 6]!;
    const gainH = gains[n + 7]!;
    for (let i = 0; i < count; i++) {
      const even =
        gainA * samples[atA + i]! + gainC * samples[atC + i]! + (gainE * samples[atE + i]! + gainG * samples[atG + i]!);
      const odd =
        gainB * samples[atB + i]! + gainD * samples[atD + i]! + (gainF * samples[atF + i]! + gainH * samples[atH + i]!);
      left[i]! += even + odd;
      right[i]! += even - odd;
    }
  }
}
