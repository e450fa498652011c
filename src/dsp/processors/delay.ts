import { type Arrival, arrivalBeside } from '../core/arrival.ts';
import { choice, decibels, hertz, milliseconds, percent } from '../core/parameter-builders.ts';
import { clearAll, controlAll, type Memory, type Part, resetAll } from '../core/parts.ts';
import { CONTROL_FRAMES, defineProcessor } from '../core/processor.ts';
import { CutFilters, HIGH_CUT_OFF, LOW_CUT_OFF } from '../filters/cut-filters.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { Ducker, type Ducking } from '../dynamics/ducker.ts';
import { FadingTap } from '../delay/fading-tap.ts';
import { highCut, lowCut } from '../filters/cut-parameters.ts';
import { LONG_AHEAD } from '../filters/interpolation-rows.ts';
import { Mixer } from '../core/mixer.ts';
import { onePoleDelay, onePoleTail } from '../filters/one-pole.ts';
import { Ramp } from '../core/ramp.ts';
import { Ring } from '../core/ring.ts';
import { repeatHandles } from '../delay/repeat-handles.ts';
import { samplesIn, wholeSamplesIn } from '../core/time.ts';
import { SmoothPath } from '../core/smooth-path.ts';
import { StereoMatrix } from '../core/stereo-matrix.ts';
import { TapeWear, WEAR_HIGH_HZ, WEAR_LOW_HZ } from '../distortion/tape-wear.ts';
import { UNHEARD } from '../core/silence-gate.ts';
import type { Values } from '../core/parameter.ts';
import { wetEffect, type WetSound } from '../core/wet-effect.ts';

const MAX_TIME_MS = 2000;
const MAX_OFFSET_MS = 50;
const MAX_MODULATION_MS = 10;
/** Smoothing of the depth: a quick move would be a quick change of pitch. */
const DEPTH_SECONDS = 0.3;
/** Samples that a moving delay needs beyond a block's length, and the shortest delay that moves. */
const MOVING_MARGIN = LONG_AHEAD + 1;
const SHORTEST_MOVING = 2 * MOVING_MARGIN;
/** Level at which a tail ends; 6 dB are reserved for peaks that the cuts raise. */
const TAIL_DB = 126;
const FLOOR = 10 ** (-TAIL_DB / 20);
const PICTURE_SECONDS = 4;
const PICTURE_FLOOR_DB = -60;
const MAX_STEMS = 1000;

const parameters = {
  time: milliseconds('Time', [1, MAX_TIME_MS], {
    default: 250,
    digits: 1,
    noteValues: true,
    about: 'Time from the sound to its first repeat, and from each repeat to the next.',
  }),
  offset: milliseconds('Right offset', [-MAX_OFFSET_MS, MAX_OFFSET_MS], {
    digits: 1,
    about: 'Makes the delay time of the right side longer or shorter than that of the left.',
  }),
  feedback: percent('Feedback', [0, 95], { default: 30, about: 'Level of each repeat relative to the one before it.' }),
  mode: choice('Mode', ['stereo', 'ping-pong'], {
    about: 'Stereo: left and right each on their own. Ping-pong: repeats alternate between the sides.',
  }),
  side: choice('First side', ['left', 'right'], { about: 'Side of the first repeat in ping-pong mode.' }),
  crossFeed: percent('Cross-feed', [0, 100], {
    about: 'Share of each repeat that is fed back to the other side, in stereo mode.',
  }),
  lowCut: lowCut('Takes lows out of the repeats, more from each one; off at 20 Hz.'),
  highCut: highCut('Takes highs out of the repeats, more from each one; off at 20 kHz.'),
  modulation: milliseconds('Modulation', [0, MAX_MODULATION_MS], {
    digits: 2,
    about: 'Depth of slow modulation of the delay time, which moves the pitch; off at 0 ms.',
  }),
  rate: hertz('Modulation rate', [0.05, 8], { default: 0.5, digits: 2, about: 'Rate of the modulation.' }),
  tape: percent('Tape wear', [0, 100], {
    about: 'Each repeat loses highs and lows and is saturated, as on a tape loop; off at 0 %.',
  }),
  ducking: decibels('Ducking', [0, 24], {
    about: 'Largest reduction of the repeats while the input plays; off at 0 dB.',
  }),
  duckThreshold: decibels('Duck threshold', [-60, 0], {
    default: -36,
    followsLevel: true,
    about: 'Peak level of the input above which the repeats are ducked: by 1 dB for each dB above.',
  }),
  duckRelease: milliseconds('Duck release', [20, 2000], {
    default: 250,
    about: 'Time in which the repeats return after the input has stopped.',
  }),
  mix: percent('Mix', [0, 100], { about: 'Share of the repeats; the rest is the dry sound. 100 % on a bus.' }),
};

type DelayValues = Values<typeof parameters>;

const isPingPong = ({ mode }: DelayValues): boolean => mode === 1;
const startsLeft = ({ side }: DelayValues): boolean => side === 0;

/** Times of the left and the right side in whole samples: rounded, so a repeat is late or early by half a sample at most. */
const delaysOf = ({ time, offset, modulation }: DelayValues, sampleRate: number): readonly [number, number] => {
  const shortest = modulation === 0 ? 1 : SHORTEST_MOVING;
  const samples = (ms: number): number => Math.max(shortest, wholeSamplesIn(ms, sampleRate));
  return [samples(time), samples(time + offset)];
};

const depthOf = ({ modulation }: DelayValues, sampleRate: number): number => samplesIn(modulation, sampleRate);

const duckingOf = ({ ducking, duckThreshold, duckRelease }: DelayValues): Ducking => ({
  depthDb: ducking,
  thresholdDb: duckThreshold,
  releaseSeconds: duckRelease / 1000,
});

/**
 * Two delay lines, each with the cuts at its end, fed back into themselves and each other. Repeat n has the level
 * feedback^(n - 1) and has passed the cuts n times. The feedback matrix g [1 - c, c; c, 1 - c] has the gains g and
 * g (1 - 2 c), so it always dies away. Times are whole samples, so repeats are exact copies; they change by crossfade.
 * Modulation lengthens both times equally by an interpolated path; wear acts in the loop, ducking at its output.
 */
class DelayWet implements WetSound<typeof parameters> {
  private readonly ringLeft: Ring;
  private readonly ringRight: Ring;
  private readonly tapLeft: FadingTap;
  private readonly tapRight: FadingTap;
  private readonly cuts: CutFilters;
  private readonly inputs: StereoMatrix;
  private readonly feedback: StereoMatrix;
  private readonly wear: TapeWear;
  private readonly ducker: Ducker;
  private readonly depth: Ramp;
  private readonly path = new SmoothPath();
  private rate = 0;
  /** Turns of the modulation done, modulo 1. */
  private phase = 0;
  private readonly wetLeft = new Float64Array(CONTROL_FRAMES);
  private readonly wetRight = new Float64Array(CONTROL_FRAMES);
  private readonly sendLeft = new Float64Array(CONTROL_FRAMES);
  private readonly sendRight = new Float64Array(CONTROL_FRAMES);
  private readonly parts: readonly Part[];
  private readonly memories: readonly Memory[];

  constructor(
    values: DelayValues,
    private readonly sampleRate: number,
  ) {
    const capacity =
      Math.ceil(samplesIn(MAX_TIME_MS + MAX_OFFSET_MS + MAX_MODULATION_MS, sampleRate)) + 2 * CONTROL_FRAMES;
    const [left, right] = delaysOf(values, sampleRate);
    this.ringLeft = new Ring(capacity);
    this.ringRight = new Ring(capacity);
    this.tapLeft = new FadingTap(left, sampleRate);
    this.tapRight = new FadingTap(right, sampleRate);
    this.cuts = new CutFilters(values.lowCut, values.highCut, sampleRate);
    this.inputs = new StereoMatrix(sampleRate);
    this.feedback = new StereoMatrix(sampleRate);
    this.wear = new TapeWear(values.tape / 100, sampleRate);
    this.ducker = new Ducker(duckingOf(values), sampleRate);
    this.depth = new Ramp(depthOf(values, sampleRate), sampleRate, DEPTH_SECONDS);
    const { tapLeft, tapRight, cuts, inputs, feedback, wear, ducker } = this;
    this.parts = [tapLeft, tapRight, cuts, inputs, feedback, wear, ducker];
    this.memories = [this.ringLeft, this.ringRight, this.cuts, this.wear];
  }

  set(values: DelayValues): void {
    const [left, right] = delaysOf(values, this.sampleRate);
    this.tapLeft.set(left);
    this.tapRight.set(right);
    this.cuts.set(values.lowCut, values.highCut);
    const gain = values.feedback / 100;
    const cross = isPingPong(values) ? 1 : values.crossFeed / 100;
    this.feedback.set(gain * (1 - cross), gain * cross, gain * cross, gain * (1 - cross));
    if (!isPingPong(values)) this.inputs.set(1, 0, 0, 1);
    else if (startsLeft(values)) this.inputs.set(0.5, 0.5, 0, 0);
    else this.inputs.set(0, 0, 0.5, 0.5);
    this.wear.set(values.tape / 100);
    this.ducker.set(duckingOf(values));
    this.depth.set(depthOf(values, this.sampleRate));
    this.rate = values.rate;
  }

  control(): void {
    controlAll(this.parts);
    this.modulate();
  }

  get silent(): boolean {
    return this.ringLeft.peak < UNHEARD && this.ringRight.peak < UNHEARD;
  }

  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    this.ducker.listen(left, right, 0, count);
    const longest = this.shortest - (this.moves ? MOVING_MARGIN : 0);
    for (let at = 0; at < count; at += longest)
      this.processPart(left, right, at, Math.min(longest, count - at), position + at);
  }

  clear(): void {
    clearAll(this.memories);
  }

  reset(): void {
    resetAll(this.parts);
    this.depth.reset();
    this.path.jump(0);
    this.path.next(0);
    this.phase = 0;
  }

  private get shortest(): number {
    return Math.min(this.tapLeft.shortest, this.tapRight.shortest);
  }

  /** True while the delays move; ones too short to move are left as they are until they have been crossfaded away. */
  private get moves(): boolean {
    return !this.path.still && this.shortest >= SHORTEST_MOVING;
  }

  /** From 0 to the depth and back: never shorter than the set time, so that all samples read were written. */
  private modulate(): void {
    const { depth, path } = this;
    if (path.still && depth.settled && depth.value === 0) return;
    depth.control();
    this.phase = (this.phase + (CONTROL_FRAMES * this.rate) / this.sampleRate) % 1;
    path.next((depth.end / 2) * (1 - Math.cos(2 * Math.PI * this.phase)));
  }

  private read(tap: FadingTap, ring: Ring, wet: Float64Array, count: number, position: number): void {
    if (this.moves) tap.readAlong(ring, this.path.values, wet, count, position);
    else tap.read(ring, wet, count, position);
  }

  /** `count` frames from `at` on, no more than the delay, so that all samples read were written. */
  private processPart(left: Float64Array, right: Float64Array, at: number, count: number, position: number): void {
    const { wetLeft, wetRight, sendLeft, sendRight } = this;
    this.read(this.tapLeft, this.ringLeft, wetLeft, count, position);
    this.read(this.tapRight, this.ringRight, wetRight, count, position);
    this.cuts.process(wetLeft, wetRight, count, position);
    this.wear.process(wetLeft, wetRight, count, position);
    sendLeft.fill(0, 0, count);
    sendRight.fill(0, 0, count);
    this.feedback.add(wetLeft, wetRight, 0, sendLeft, sendRight, count, position);
    this.inputs.add(left, right, at, sendLeft, sendRight, count, position);
    this.ringLeft.write(sendLeft, count);
    this.ringRight.write(sendRight, count);
    this.ducker.process(wetLeft, wetRight, count, position);
    for (let i = 0; i < count; i++) {
      left[at + i] = wetLeft[i]!;
      right[at + i] = wetRight[i]!;
    }
  }
}

/** Repeats until all further ones together stay below -120 dB of the input's peak. */
const heardRepeats = ({ feedback, mix }: DelayValues): number => {
  const gain = feedback / 100;
  if (gain === 0) return 1;
  return 1 + Math.max(0, Math.floor(Math.log((FLOOR * (1 - gain)) / (mix / 100)) / Math.log(gain)));
};

/** Each repeat comes later by the high corners' own delay and by the modulation, and spreads; the low corners ring on after the last. */
const tailOf = (values: DelayValues, sampleRate: number): number => {
  if (values.mix === 0) return 0;
  const { lowCut, highCut, tape, modulation } = values;
  const worn = tape > 0;
  const highs = [...(highCut < HIGH_CUT_OFF ? [highCut] : []), ...(worn ? [WEAR_HIGH_HZ] : [])];
  const lows = [...(lowCut > LOW_CUT_OFF ? [lowCut] : []), ...(worn ? [WEAR_LOW_HZ] : [])];
  const late = highs.reduce((sum, hz) => sum + 2 * onePoleDelay(hz, sampleRate), 0);
  const moved = modulation === 0 ? 0 : depthOf(values, sampleRate) + MOVING_MARGIN;
  const repeat = Math.max(...delaysOf(values, sampleRate)) + late + moved;
  const ring = (hz: number, db: number): number => onePoleTail(hz, db, sampleRate);
  const highTail = highs.reduce((sum, hz) => sum + ring(hz, TAIL_DB), 0);
  const lowTail = lows.reduce((sum, hz) => sum + ring(hz, 2 * TAIL_DB), 0);
  return Math.ceil(heardRepeats(values) * repeat) + highTail + lowTail;
};

/** The first repeat, on the side where it comes first. */
const arrivalOf = (values: DelayValues, sampleRate: number): Arrival => {
  const [left, right] = delaysOf(values, sampleRate);
  const first = isPingPong(values) ? (startsLeft(values) ? left : right) : Math.min(left, right);
  return arrivalBeside({ lagSamples: first, polarity: 1 }, { wet: values.mix / 100, law: 'linear' });
};

/** Stems of the repeats on both sides, by time: [seconds, dB], cuts and cross-feed not counted. */
const stemsOf = (values: DelayValues): (readonly [number, number])[] => {
  const { time, offset, feedback, mix } = values;
  const [left, right] = [time / 1000, Math.max(1, time + offset) / 1000];
  const repeats = Math.min(MAX_STEMS, heardRepeats(values));
  const level = (n: number): number => decibelsOf((mix / 100) * (feedback / 100) ** n);
  const stems = Array.from({ length: repeats }, (_, n) => {
    if (!isPingPong(values)) return [[(n + 1) * left, level(n)] as const, [(n + 1) * right, level(n)] as const];
    const first = startsLeft(values) ? left : right;
    return [[Math.floor(n / 2) * (left + right) + (n % 2 ? left + right : first), level(n)] as const];
  }).flat();
  const same = (a: readonly [number, number] | undefined, b: readonly [number, number]): boolean => a?.[0] === b[0];
  return stems.sort(([a], [b]) => a - b).filter((stem, n) => !same(stems[n - 1], stem));
};

export const processor = defineProcessor({
  id: 'delay',
  label: 'Delay',
  about: 'Delay: repeats at a set time or note value that fade away, in stereo or ping-pong.',
  parameters,
  start: { time: 375, feedback: 35, highCut: 6000, lowCut: 150, mix: 30 },
  latency: () => 0,
  tail: tailOf,
  driven: ({ tape }) => tape > 0,
  arrival: arrivalOf,
  picture: {
    kind: 'time',
    x: [0, PICTURE_SECONDS],
    y: [PICTURE_FLOOR_DB, 0],
    drawn: 'stems',
    points: (values, _sampleRate, count) => {
      const dry = [0, Math.max(PICTURE_FLOOR_DB, decibelsOf(1 - values.mix / 100))] as const;
      const shown = stemsOf(values).filter(([x, y]) => x <= PICTURE_SECONDS && y >= PICTURE_FLOOR_DB);
      return [dry, ...shown].slice(0, count);
    },
    handles: (values) => {
      const { time, offset } = values;
      const second = isPingPong(values) ? time + Math.max(1, time + offset) : 2 * time;
      return repeatHandles({ ...values, second }, PICTURE_FLOOR_DB);
    },
  },
  createKernel: (values, sampleRate) =>
    wetEffect(new DelayWet(values, sampleRate), new Mixer('linear', 0, sampleRate), values),
});
