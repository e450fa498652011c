import { decibelsOf, gainOf } from '../../audio/decibels.ts';
import { StereoDelay } from '../core/delay-line.ts';
import { DirectBlocker } from '../filters/direct-blocker.ts';
import { fadeToWet } from '../core/fade-to-wet.ts';
import { AVERAGE_DELAY, HalfSample } from '../filters/half-sample.ts';
import { onePoleTail } from '../filters/one-pole.ts';
import { Oversampler, oversamplingLatency } from '../distortion/oversampling.ts';
import { KEEP_LOUDNESS, LoudnessMatch } from '../dynamics/loudness-match.ts';
import { choice, decibels, percent, toggle } from '../core/parameter-builders.ts';
import type { Values } from '../core/parameter.ts';
import { CONTROL_FRAMES, defineProcessor, type Kernel } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';
import { makeUp, shapingCurves, valueAt, type ShapingCurve } from '../distortion/shaping-curve.ts';
import { Tilt, tiltTail } from '../filters/tilt.ts';
import { WaveShaping, type Shaping } from '../distortion/wave-shaping.ts';

const FACTORS = [2, 4, 8] as const;
const CURVES = Object.values(shapingCurves);
const NAMES = Object.keys(shapingCurves);
/** Corner of the high-pass behind uneven curves, Hz: 0.04 dB down at 20 Hz. */
const DIRECT_HZ = 2;
const UNEVEN = ['asymmetric', 'second harmonic', 'uneven clip'].map((name) => NAMES.indexOf(name));

const parameters = {
  curve: choice('Curve', NAMES, {
    default: 'soft',
    about:
      'Shape of the saturation curve: soft, third harmonic only, hard clipping, more on one half of the wave (even harmonics), or folded.',
  }),
  drive: decibels('Drive', [-12, 48], { about: 'Level into the curve: more drive, more harmonics.' }),
  compensation: toggle('Level compensation', {
    default: true,
    about: 'Compensates the level that drive adds: a sine of -12 dBFS peak comes out as loud as it went in.',
  }),
  bias: percent('Bias', [-100, 100], { about: 'DC offset before the curve, which adds even harmonics.' }),
  tone: decibels('Tone', [-12, 12], {
    about: 'Tilts the saturated sound around 1 kHz: highs up and lows down by half of this each, or the other way.',
  }),
  oversampling: choice(
    'Oversampling',
    FACTORS.map((factor) => `${factor}x`),
    { default: '4x', about: 'Sample rate of the waveshaper; higher means less aliasing.' },
  ),
  antialiasing: toggle('Anti-aliasing', {
    default: true,
    about: 'Antiderivative antialiasing: 24 dB less aliasing from hard curves, for up to 50 % more CPU load.',
  }),
  mix: percent('Mix', [0, 100], { about: 'Share of the saturated sound; the rest is the dry sound, exactly aligned.' }),
  keepLoudness: KEEP_LOUDNESS,
};

type SaturatorValues = Values<typeof parameters>;

const factorOf = ({ oversampling }: SaturatorValues): number => FACTORS[oversampling]!;
const offsetOf = ({ bias }: SaturatorValues): number => bias / 100;
const isUneven = ({ bias, curve }: SaturatorValues): boolean => bias !== 0 || UNEVEN.includes(curve);
const curveOf = ({ curve }: SaturatorValues): ShapingCurve => CURVES[curve]!;

/** Frames that the mean and its filter take, whole: they are padded to it. */
const averageFrames = (values: SaturatorValues): number =>
  values.antialiasing === 0 ? 0 : Math.ceil(AVERAGE_DELAY / factorOf(values));

const latencyOf = (values: SaturatorValues, sampleRate: number): number =>
  oversamplingLatency(factorOf(values), sampleRate) + averageFrames(values);

const shapingOf = (values: SaturatorValues): Shaping => ({
  curve: values.curve,
  driveDb: values.drive,
  bias: offsetOf(values),
  compensation: values.compensation,
});

const makeUpOf = (values: SaturatorValues): number =>
  values.compensation === 0 ? 1 : makeUp(curveOf(values), gainOf(values.drive), offsetOf(values));

/**
 * Output for a steady input `x` (samples, 1 is full scale) before tone and the removal of the direct component:
 * (1 - a) x + a m (f(d x + b) - f(b)), with mix a, make-up m, drive d, bias b and curve f.
 */
export const transferOf = (values: SaturatorValues, x: number): number => {
  const curve = curveOf(values);
  const offset = offsetOf(values);
  const shaped = valueAt(curve, gainOf(values.drive) * x + offset) - valueAt(curve, offset);
  return x + (values.mix / 100) * (makeUpOf(values) * shaped - x);
};

/**
 * Memoryless curve at 2, 4 or 8 times the rate between linear-phase half-band filters, then removal of the direct
 * component (uneven curves only), tone, and the mix with the input delayed by the same whole number of samples.
 */
class SaturatorKernel implements Kernel<typeof parameters> {
  private readonly oversamplers: readonly [Oversampler, Oversampler];
  /** One a channel where means are taken, else none. */
  private readonly averages: readonly HalfSample[];
  private readonly dry: StereoDelay;
  private readonly wetLeft = new Float64Array(CONTROL_FRAMES);
  private readonly wetRight = new Float64Array(CONTROL_FRAMES);
  private readonly shaping: WaveShaping;
  private readonly blocker: DirectBlocker;
  private readonly tone: Tilt;
  private readonly mix: Ramp;
  private readonly loudness: LoudnessMatch;
  /** Frames of the control block already done. */
  private position = 0;

  constructor(values: SaturatorValues, sampleRate: number) {
    const factor = factorOf(values);
    this.oversamplers = [new Oversampler(factor, sampleRate), new Oversampler(factor, sampleRate)];
    const averaged = values.antialiasing === 1;
    const pad = averageFrames(values) * factor - AVERAGE_DELAY;
    this.averages = averaged ? [0, 1].map(() => new HalfSample(pad, CONTROL_FRAMES * factor)) : [];
    this.dry = new StereoDelay(latencyOf(values, sampleRate));
    this.shaping = new WaveShaping(CURVES, factor, averaged, sampleRate, shapingOf(values));
    this.blocker = new DirectBlocker(isUneven(values), DIRECT_HZ, sampleRate);
    this.tone = new Tilt(values.tone, sampleRate);
    this.mix = new Ramp(values.mix / 100, sampleRate);
    this.loudness = new LoudnessMatch(values.keepLoudness === 1, sampleRate);
  }

  set(values: SaturatorValues): void {
    this.shaping.set(shapingOf(values));
    this.blocker.set(isUneven(values));
    this.tone.set(values.tone);
    this.mix.set(values.mix / 100);
    this.loudness.changed();
    this.loudness.set(values.keepLoudness === 1);
  }

  control(): void {
    this.position = 0;
    this.shaping.control();
    this.blocker.control();
    this.tone.control();
    this.mix.control();
    this.loudness.control();
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { wetLeft, wetRight, position, mix } = this;
    const frames = end - start;
    this.saturate(0, left, start, end, wetLeft);
    this.saturate(1, right, start, end, wetRight);
    this.blocker.process(wetLeft, wetRight, frames, position);
    this.tone.process(wetLeft, wetRight, frames, position);
    this.dry.process(left, right, left, right, start, end);
    this.loudness.hear(left, right, start, end);
    this.position = position + frames;
    if (!(mix.settled && mix.value === 0)) fadeToWet(left, right, start, frames, wetLeft, wetRight, mix, position);
    this.loudness.level(left, right, start, end, position);
  }

  reset(): void {
    for (const oversampler of this.oversamplers) oversampler.reset();
    for (const average of this.averages) average.reset();
    this.dry.reset();
    this.shaping.reset();
    this.blocker.reset();
    this.tone.reset();
    this.mix.reset();
    this.loudness.reset();
    this.position = 0;
  }

  private saturate(channel: 0 | 1, input: Float64Array, start: number, end: number, wet: Float64Array): void {
    const oversampler = this.oversamplers[channel];
    oversampler.up(input, start, end);
    this.shaping.process(oversampler.samples, end - start, this.position, channel);
    this.averages[channel]?.process(oversampler.samples, (end - start) * oversampler.factor);
    oversampler.down(wet, end - start);
  }
}

/** The filters' length, then what the memories behind the curve hold: as much as drive and tone may raise quiet sound. */
const tailOf = (values: SaturatorValues, sampleRate: number): number => {
  if (values.mix === 0) return 0;
  const raisedDb = Math.max(0, values.drive + decibelsOf(makeUpOf(values))) + Math.abs(values.tone);
  const db = 120 + raisedDb;
  const filters = latencyOf(values, sampleRate) + 8;
  const direct = isUneven(values) ? onePoleTail(DIRECT_HZ, db, sampleRate) : 0;
  const tone = values.tone === 0 ? 0 : tiltTail(db, sampleRate);
  return filters + direct + tone;
};

export const processor = defineProcessor({
  id: 'saturator',
  label: 'Saturator',
  about: 'Adds harmonics by waveshaping, oversampled against aliasing.',
  parameters,
  start: { drive: 12, mix: 100 },
  latency: latencyOf,
  tail: tailOf,
  driven: ({ mix }) => mix > 0,
  picture: {
    kind: 'transfer',
    x: [-1, 1],
    y: [-1, 1],
    drawn: 'line',
    points: (values, _sampleRate, count) =>
      Array.from({ length: count }, (_, i) => {
        const x = (2 * i) / (count - 1) - 1;
        return [x, transferOf(values, x)] as const;
      }),
  },
  createKernel: (values, sampleRate) => new SaturatorKernel(values, sampleRate),
});
