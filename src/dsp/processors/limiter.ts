import { AdaptiveRelease } from '../dynamics/adaptive-release.ts';
import { BandLimit, bandLimitLatency } from '../filters/band-limit.ts';
import { CONTROL_FRAMES, defineProcessor, type Kernel } from '../core/processor.ts';
import { decibels, milliseconds, percent } from '../core/parameter-builders.ts';
import { decibelsOf, gainOf } from '../../audio/decibels.ts';
import { levelPicture } from '../core/pictures.ts';
import { limiterHandles } from '../dynamics/level-handles.ts';
import { LookAhead } from '../dynamics/look-ahead.ts';
import { Ramp } from '../core/ramp.ts';
import { ReductionHistory } from '../dynamics/reduction-history.ts';
import { StereoDelay } from '../core/delay-line.ts';
import { stereoLink } from '../dynamics/dynamics-parameters.ts';
import { TRUE_PEAK_LATENCY, TruePeakDetector } from '../dynamics/true-peak-detector.ts';
import type { Values } from '../core/parameter.ts';
import { wholeSamplesIn } from '../core/time.ts';

/** The ceiling is off at its highest setting, dB. */
const CEILING_OFF = 24;
/** Margin of the gain below the ceiling, dB, for differences between interpolators and for single precision. */
const MARGIN_DB = 0.04;
/** Peaks below this share of the aim need not be found. */
const FLOOR = 0.7;
/** Levels at which the top of the band begins to be removed and is removed, in parts of the aim: -0.5 and -0.1 dB. */
const TOP_GOES = 0.944;
const TOP_GONE = 0.9886;

const parameters = {
  ceiling: decibels('Ceiling', [-24, CEILING_OFF], {
    default: CEILING_OFF,
    about: 'True peak (dBTP) that the output does not exceed; off at 24 dB.',
  }),
  drive: decibels('Drive', [0, 24], { about: 'Gain before the limiter.' }),
  lookAhead: milliseconds('Look-ahead', [1, 10], {
    default: 4,
    scale: 'linear',
    digits: 1,
    about: 'How long before a peak the gain begins to move; adds as much latency.',
  }),
  release: milliseconds('Release', [5, 1000], {
    default: 60,
    about: 'Time for 63 % of the decrease in gain reduction (in dB) after a single peak.',
  }),
  adapt: percent('Adaptive release', [0, 100], {
    default: 100,
    about: 'How far the release slows down during sustained gain reduction; up to ten times.',
  }),
  link: stereoLink('How far each channel follows the one with more gain reduction'),
};

type LimiterValues = Values<typeof parameters>;

const lookAheadOf = ({ lookAhead }: LimiterValues, sampleRate: number): number => wholeSamplesIn(lookAhead, sampleRate);

const latency = (values: LimiterValues, sampleRate: number): number =>
  bandLimitLatency(sampleRate) + TRUE_PEAK_LATENCY + lookAheadOf(values, sampleRate);

/** Target level of the gain, linear. */
const aimOf = ({ ceiling }: LimiterValues): number => (ceiling >= CEILING_OFF ? Infinity : gainOf(ceiling - MARGIN_DB));

/**
 * Look-ahead limiter. The true peak of the input determines a gain reduction; its maxima are held and averaged over the
 * look-ahead, so that the gain is smooth and in place when the peak arrives.
 *
 * Sound at the very top of the band (above 20 kHz at 44.1 kHz) has no peak between its samples that two meters agree
 * on. Where the sound comes near the ceiling it is therefore faded out; everywhere else, the limiter
 * at rest is a wire. The mean of a sound and the same sound without its top is nowhere greater than the greater of the two.
 */
export class LimiterKernel implements Kernel<typeof parameters> {
  private aim = Infinity;
  private link = 1;
  private readonly drive: Ramp;
  private readonly bands: readonly [BandLimit, BandLimit];
  private readonly detectors = [new TruePeakDetector(), new TruePeakDetector()] as const;
  private readonly releases: readonly [AdaptiveRelease, AdaptiveRelease];
  private readonly curves: readonly [LookAhead, LookAhead];
  private readonly topCurves: readonly [LookAhead, LookAhead];
  private readonly delays: { readonly whole: StereoDelay; readonly limited: StereoDelay; readonly top: StereoDelay };
  /** Peaks, then gain reductions in nepers, then gains. */
  private readonly gains = [new Float64Array(CONTROL_FRAMES), new Float64Array(CONTROL_FRAMES)] as const;
  /** The sound without the top of the band. */
  private readonly limited = [new Float64Array(CONTROL_FRAMES), new Float64Array(CONTROL_FRAMES)] as const;
  /** Size of that top, then how far it is taken out, 0..1. */
  private readonly tops = [new Float64Array(CONTROL_FRAMES), new Float64Array(CONTROL_FRAMES)] as const;
  /** Gain reduction over time, for drawing. */
  readonly history = new ReductionHistory();
  /** Frames of the control block already done. */
  private position = 0;

  constructor(
    private values: LimiterValues,
    sampleRate: number,
  ) {
    const lookAhead = lookAheadOf(values, sampleRate);
    this.drive = new Ramp(gainOf(values.drive), sampleRate);
    this.bands = [new BandLimit(sampleRate), new BandLimit(sampleRate)];
    this.releases = [new AdaptiveRelease(sampleRate), new AdaptiveRelease(sampleRate)];
    this.curves = [new LookAhead(lookAhead, 0, this.releases[0]), new LookAhead(lookAhead, 0, this.releases[1])];
    this.topCurves = [new LookAhead(lookAhead), new LookAhead(lookAhead)];
    this.delays = {
      whole: new StereoDelay(latency(values, sampleRate)),
      limited: new StereoDelay(TRUE_PEAK_LATENCY + lookAhead),
      top: new StereoDelay(TRUE_PEAK_LATENCY),
    };
  }

  /** Gain reduction at the end of the last frames processed, the larger of the two channels, dB, 0 or more. */
  reductionDb = 0;

  set(values: LimiterValues): void {
    this.values = values;
    this.drive.set(gainOf(values.drive));
  }

  control(): void {
    const { values } = this;
    this.history.note(this.reductionDb);
    this.position = 0;
    this.drive.control();
    this.aim = aimOf(values);
    this.link = values.link / 100;
    for (const release of this.releases) {
      release.set(values.release / 1000, values.adapt / 100);
      release.control();
    }
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { gains, limited, tops, delays, curves, topCurves } = this;
    const frames = end - start;
    this.drive.scale(left, right, start, end, this.position);
    this.listen(left, right, start, end);
    this.judge(frames);
    curves[0].process(gains[0], frames);
    curves[1].process(gains[1], frames);
    topCurves[0].process(tops[0], frames);
    topCurves[1].process(tops[1], frames);
    delays.whole.process(left, right, left, right, start, end);
    delays.limited.process(limited[0], limited[1], limited[0], limited[1], 0, frames);
    apply(left, limited[0], tops[0], gains[0], start, frames);
    apply(right, limited[1], tops[1], gains[1], start, frames);
    this.reductionDb = decibelsOf(1 / Math.min(gains[0][frames - 1]!, gains[1][frames - 1]!));
    this.position += frames;
  }

  reset(): void {
    this.drive.reset();
    this.delays.whole.reset();
    this.delays.limited.reset();
    this.delays.top.reset();
    for (const part of [...this.bands, ...this.detectors, ...this.curves, ...this.topCurves]) part.reset();
    this.reductionDb = 0;
    this.history.reset();
    this.position = 0;
  }

  /** Splits off the top of the band and finds the peaks of the rest; both late by the same. */
  private listen(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { bands, detectors, limited, tops, gains, aim } = this;
    const frames = end - start;
    const on = aim < Infinity;
    bands[0].process(left, start, end, on, limited[0], tops[0]);
    bands[1].process(right, start, end, on, limited[1], tops[1]);
    detectors[0].process(limited[0], frames, FLOOR * aim, gains[0]);
    detectors[1].process(limited[1], frames, FLOOR * aim, gains[1]);
    this.delays.top.process(tops[0], tops[1], tops[0], tops[1], 0, frames);
  }

  /** Gain reductions from peaks, and the removal of the top of the band. */
  private judge(frames: number): void {
    const { gains, tops, aim, link } = this;
    const [left, right] = gains;
    const [topLeft, topRight] = tops;
    for (let k = 0; k < frames; k++) {
      const peakLeft = left[k]! / aim;
      const peakRight = right[k]! / aim;
      topLeft[k] = topToGo(peakLeft, topLeft[k]! / aim);
      topRight[k] = topToGo(peakRight, topRight[k]! / aim);
      const overLeft = peakLeft > 1 ? Math.log(peakLeft) : 0;
      const overRight = peakRight > 1 ? Math.log(peakRight) : 0;
      const most = Math.max(overLeft, overRight);
      left[k] = overLeft + link * (most - overLeft);
      right[k] = overRight + link * (most - overRight);
    }
  }
}

/**
 * How much of the top of the band is removed, 0..1, for this peak of the rest and this size of the top, in parts of the
 * aim. The top counts twice: at such frequencies samples hardly ever fall on the peaks.
 */
const topToGo = (peak: number, top: number): number => {
  const near = (Math.max(FLOOR, peak) + 2 * top - TOP_GOES) / (TOP_GONE - TOP_GOES);
  return Math.max(0, Math.min(1, near));
};

/** Takes the top of the band out, turns the reductions into gains, and applies them. */
const apply = (
  samples: Float64Array,
  limited: Float64Array,
  tops: Float64Array,
  gains: Float64Array,
  start: number,
  frames: number,
): void => {
  for (let k = 0; k < frames; k++) {
    const reduction = gains[k]!;
    const gain = reduction === 0 ? 1 : Math.exp(-reduction);
    const whole = samples[start + k]!;
    samples[start + k] = gain * (whole + tops[k]! * (limited[k]! - whole));
    gains[k] = gain;
  }
};

export const processor = defineProcessor({
  id: 'limiter',
  label: 'Limiter',
  about: 'Keeps true peaks below a ceiling.',
  parameters,
  start: { ceiling: -1 },
  latency,
  // The tail of the filter that removes the top of the band is as long as its delay.
  tail: (values, sampleRate) => (aimOf(values) < Infinity ? bandLimitLatency(sampleRate) : 0),
  picture: levelPicture<typeof parameters>(
    -36,
    ({ ceiling, drive }, inDb) => (ceiling < CEILING_OFF ? Math.min(ceiling, inDb + drive) : inDb + drive),
    limiterHandles,
  ),
  createKernel: (values, sampleRate) => new LimiterKernel(values, sampleRate),
});
