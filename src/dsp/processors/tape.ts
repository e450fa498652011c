import { type BandDesign, designBand } from '../filters/band-design.ts';
import { type BandSettings, FilterBand } from '../filters/filter-band.ts';
import { cascadeTail } from '../reverb/decay.ts';
import { choice, decibels, percent } from '../core/parameter-builders.ts';
import { controlAll, type Part, resetAll } from '../core/parts.ts';
import {
  cornerOf,
  type FirstOrder,
  FirstOrderFilter,
  firstOrderMatchedLowPass,
  firstOrderShelf,
} from '../filters/first-order.ts';
import { defineProcessor } from '../core/processor.ts';
import { DirectBlocker } from '../filters/direct-blocker.ts';
import { DrivenEffect, type DrivenSound, raisedBy } from '../distortion/driven-effect.ts';
import { gainOf } from '../../audio/decibels.ts';
import { Hysteresis, hysteresisMakeUp, risingBranch } from '../distortion/hysteresis.ts';
import { KEEP_LOUDNESS, MOST_FILTERED_DB } from '../dynamics/loudness-match.ts';
import { MAX_FLUTTER, MAX_WOW, TapeTransport, transportDelay } from '../distortion/tape-transport.ts';
import { onePoleTail } from '../filters/one-pole.ts';
import {
  OversampledChannel,
  oversampledLatency,
  oversamplingChoice,
  oversamplingFactor,
} from '../distortion/oversampled-channel.ts';
import { DRIVE_AT, driveHandle } from '../distortion/drive-handles.ts';
import { transferPicture } from '../core/pictures.ts';
import type { Values } from '../core/parameter.ts';

/** Corner of the high-pass that removes the remanent (DC) magnetisation, Hz. */
const DIRECT_HZ = 2;
const BUMP_Q = 0.9;

/**
 * Settings for each speed: the time constant of emphasis, seconds (IEC 60094-1; from memory), where the head bump lies and where
 * highs are 3 dB down, Hz (common practice: both go with the speed).
 */
const SPEEDS = {
  '7.5 in/s': { emphasis: 70e-6, bumpHz: 35, highHz: 12000 },
  '15 in/s': { emphasis: 35e-6, bumpHz: 65, highHz: 22000 },
  '30 in/s': { emphasis: 17.5e-6, bumpHz: 120, highHz: 40000 },
} as const;
const SPEED_LIST = Object.values(SPEEDS);

const parameters = {
  drive: decibels('Drive', [-12, 24], {
    about: 'Level onto the tape: more gives more saturation; a slow sine of -12 dBFS peak keeps its level.',
  }),
  speed: choice('Speed', Object.keys(SPEEDS), {
    default: '15 in/s',
    about: 'Tape speed: slower moves the head bump down and loses more highs.',
  }),
  hysteresis: percent('Hysteresis', [0, 60], {
    default: 20,
    about:
      'Share of magnetic hysteresis, as with too little bias: rougher. It affects loud sound; quiet sound stays clean.',
  }),
  emphasis: decibels('Emphasis', [0, 12], {
    default: 6,
    about: 'Raises highs before the tape and lowers them equally after it, so that highs saturate first.',
  }),
  bump: decibels('Head bump', [0, 6], {
    default: 1.5,
    about: 'Boost of the low end at the head bump, whose frequency depends on the speed.',
  }),
  wow: percent('Wow', [0, 100 * MAX_WOW], {
    digits: 2,
    about: 'Slow changes of pitch: largest deviation of the speed; off at 0 %.',
  }),
  flutter: percent('Flutter', [0, 100 * MAX_FLUTTER], {
    digits: 2,
    about: 'Fast changes of pitch: largest deviation of the speed; off at 0 %.',
  }),
  apart: percent('Channel deviation', [0, 100], {
    about:
      'Share of wow and flutter that differs between left and right; at 0 % both are equal. Higher values lose level in mono.',
  }),
  oversampling: oversamplingChoice('Sample rate of the tape model; higher means less aliasing.'),
  mix: percent('Mix', [0, 100], {
    about: 'Share of the processed sound; the rest is the dry sound, aligned except for wow and flutter.',
  }),
  keepLoudness: KEEP_LOUDNESS,
};

type TapeValues = Values<typeof parameters>;

const speedOf = ({ speed }: TapeValues): (typeof SPEED_LIST)[number] => SPEED_LIST[speed]!;
const lagOf = ({ hysteresis }: TapeValues): number => hysteresis / 100;

/** Shelf of `lift` that begins to rise at the corner of the time constant: its middle lies a root of the lift above. */
const emphasisOf = (values: TapeValues, direction: 1 | -1, sampleRate: number): FirstOrder => {
  const root = gainOf(values.emphasis / 2);
  const middle = root / (2 * Math.PI * speedOf(values).emphasis);
  return firstOrderShelf(1, direction === 1 ? root : 1 / root, cornerOf(middle, sampleRate));
};

const highEndOf = (values: TapeValues, sampleRate: number): FirstOrder =>
  firstOrderMatchedLowPass(speedOf(values).highHz, sampleRate);

const bumpOf = (values: TapeValues): BandDesign => ({
  shape: 'bell',
  order: 2,
  hz: speedOf(values).bumpHz,
  gainDb: values.bump,
  q: BUMP_Q,
});
const running = (values: TapeValues): BandSettings => ({ ...bumpOf(values), on: true, channels: 'both' });

/** The filters of one channel. */
class Track implements Part {
  private readonly lift: FirstOrderFilter;
  private readonly raised: OversampledChannel;
  private readonly lower: FirstOrderFilter;
  private readonly highEnd: FirstOrderFilter;

  constructor(
    values: TapeValues,
    channel: 0 | 1,
    private readonly sampleRate: number,
  ) {
    this.lift = new FirstOrderFilter(emphasisOf(values, 1, sampleRate), sampleRate);
    this.raised = new OversampledChannel(channel, oversamplingFactor(values), 'mean', sampleRate);
    this.lower = new FirstOrderFilter(emphasisOf(values, -1, sampleRate), sampleRate);
    this.highEnd = new FirstOrderFilter(highEndOf(values, sampleRate), sampleRate);
  }

  set(values: TapeValues): void {
    this.lift.set(emphasisOf(values, 1, this.sampleRate));
    this.lower.set(emphasisOf(values, -1, this.sampleRate));
    this.highEnd.set(highEndOf(values, this.sampleRate));
  }

  control(): void {
    this.lift.control();
    this.lower.control();
    this.highEnd.control();
  }

  process(samples: Float64Array, count: number, position: number, hysteresis: Hysteresis): void {
    this.lift.process(samples, count, position);
    this.raised.process(samples, count, position, hysteresis);
    this.lower.process(samples, count, position);
    this.highEnd.process(samples, count, position);
  }

  reset(): void {
    resetAll([this.lift, this.raised, this.lower, this.highEnd]);
  }
}

const latencyOf = (values: TapeValues, sampleRate: number): number =>
  oversampledLatency(oversamplingFactor(values), 'mean', sampleRate) + transportDelay(sampleRate);

/** Emphasis, magnetisation at a multiple of the rate, de-emphasis and the end of the highs, head bump, transport. */
class TapeSound implements DrivenSound<typeof parameters> {
  private readonly left: Track;
  private readonly right: Track;
  private readonly hysteresis: Hysteresis;
  private readonly blocker: DirectBlocker;
  private readonly bump: FilterBand;
  private readonly transport: TapeTransport;
  private readonly parts: readonly Part[];

  constructor(values: TapeValues, sampleRate: number) {
    this.left = new Track(values, 0, sampleRate);
    this.right = new Track(values, 1, sampleRate);
    this.hysteresis = new Hysteresis(values.drive, lagOf(values), oversamplingFactor(values), sampleRate);
    this.blocker = new DirectBlocker(true, DIRECT_HZ, sampleRate);
    this.bump = new FilterBand(running(values), sampleRate);
    this.transport = new TapeTransport(values.wow / 100, values.flutter / 100, values.apart / 100, sampleRate);
    this.parts = [this.left, this.right, this.hysteresis, this.blocker, this.bump, this.transport];
  }

  set(values: TapeValues): void {
    this.left.set(values);
    this.right.set(values);
    this.hysteresis.set(values.drive, lagOf(values));
    this.bump.set(running(values));
    this.transport.set(values.wow / 100, values.flutter / 100, values.apart / 100);
  }

  control(): void {
    controlAll(this.parts);
  }

  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    this.left.process(left, count, position, this.hysteresis);
    this.right.process(right, count, position, this.hysteresis);
    this.blocker.process(left, right, count, position);
    this.bump.process(left, right, 0, count);
    this.transport.process(left, right, count, position);
  }

  reset(): void {
    resetAll(this.parts);
  }
}

/** Points of a curve; one lies at the drive's handle. */
const CURVE_POINTS = 17;

/** Rising half of the loop: samples in and out. */
const curveOf = (values: TapeValues, count: number): readonly (readonly [number, number])[] =>
  risingBranch(gainOf(values.drive), lagOf(values), count).map(
    ([x, y]) => [x, x + (values.mix / 100) * (y - x)] as const,
  );

const makeUpOf = (values: TapeValues): number => hysteresisMakeUp(gainOf(values.drive), lagOf(values));

/** Lengths of the filters and of the transport, then the tail of each filter: longer by the gain of drive and lifts. */
const tailOf = (values: TapeValues, sampleRate: number): number => {
  if (values.mix === 0) return 0;
  const kept = values.keepLoudness === 1 ? MOST_FILTERED_DB : 0;
  const raisedDb = raisedBy(values.drive, makeUpOf(values)) + values.emphasis + values.bump + kept;
  const db = 120 + raisedDb;
  const bump = values.bump === 0 ? 0 : cascadeTail(designBand(bumpOf(values), sampleRate), gainOf(raisedDb));
  // Emphasis turns at 2.3 kHz or above, each way; the end of the highs lies higher.
  const emphasis = 3 * onePoleTail(2000, db, sampleRate);
  return latencyOf(values, sampleRate) + 8 + bump + emphasis + onePoleTail(DIRECT_HZ, db, sampleRate);
};

export const processor = defineProcessor({
  id: 'tape',
  label: 'Tape',
  about: 'Tape saturation: softer peaks, highs that saturate first, and a low-frequency head bump.',
  parameters,
  start: { drive: 9, mix: 100 },
  latency: latencyOf,
  tail: tailOf,
  driven: ({ mix }) => mix > 0,
  picture: transferPicture<typeof parameters>(curveOf, (values) => [
    {
      ...driveHandle(values.drive, curveOf(values, CURVE_POINTS).find(([x]) => x >= DRIVE_AT)![1]),
      wheel: 'hysteresis',
    },
  ]),
  createKernel: (values, sampleRate) =>
    new DrivenEffect(
      new TapeSound(values, sampleRate),
      latencyOf(values, sampleRate),
      values,
      sampleRate,
      MOST_FILTERED_DB,
    ),
});
