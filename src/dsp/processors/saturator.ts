import { choice, decibels, percent, toggle } from '../core/parameter-builders.ts';
import { controlAll, type Part, resetAll } from '../core/parts.ts';
import { defineProcessor } from '../core/processor.ts';
import { DirectBlocker } from '../filters/direct-blocker.ts';
import { DrivenEffect, type DrivenSound, raisedBy } from '../distortion/driven-effect.ts';
import { gainOf } from '../../audio/decibels.ts';
import { KEEP_LOUDNESS } from '../dynamics/loudness-match.ts';
import { makeUp, type ShapingCurve, shapingCurves, valueAt } from '../distortion/shaping-curve.ts';
import { onePoleTail } from '../filters/one-pole.ts';
import {
  type Averaging,
  OversampledChannel,
  oversampledLatency,
  oversamplingChoice,
  oversamplingFactor,
} from '../distortion/oversampled-channel.ts';
import { type Shaping, WaveShaping } from '../distortion/wave-shaping.ts';
import { Tilt, tiltTail } from '../filters/tilt.ts';
import { biasHandle, DRIVE_AT, driveHandle } from '../distortion/drive-handles.ts';
import { transferPicture } from '../core/pictures.ts';
import type { Values } from '../core/parameter.ts';

const CURVES = Object.values(shapingCurves);
const NAMES = Object.keys(shapingCurves);
/** Corner of the high-pass after uneven curves, Hz: 0.04 dB down at 20 Hz. */
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
  oversampling: oversamplingChoice('Sample rate of the waveshaper; higher means less aliasing.'),
  antialiasing: toggle('Anti-aliasing', {
    default: true,
    about:
      'Antiderivative antialiasing of second order: 36 dB less aliasing from hard curves, for up to twice the CPU load.',
  }),
  mix: percent('Mix', [0, 100], { about: 'Share of the saturated sound; the rest is the dry sound, exactly aligned.' }),
  keepLoudness: KEEP_LOUDNESS,
};

type SaturatorValues = Values<typeof parameters>;

const offsetOf = ({ bias }: SaturatorValues): number => bias / 100;
const isUneven = ({ bias, curve }: SaturatorValues): boolean => bias !== 0 || UNEVEN.includes(curve);
const curveOf = ({ curve }: SaturatorValues): ShapingCurve => CURVES[curve]!;

const averagingOf = ({ antialiasing }: SaturatorValues): Averaging => (antialiasing === 1 ? 'weighted mean' : 'none');

const latencyOf = (values: SaturatorValues, sampleRate: number): number =>
  oversampledLatency(oversamplingFactor(values), averagingOf(values), sampleRate);

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
 * component (uneven curves only), and tone.
 */
class Saturation implements DrivenSound<typeof parameters> {
  private readonly channels: readonly [OversampledChannel, OversampledChannel];
  private readonly shaping: WaveShaping;
  private readonly blocker: DirectBlocker;
  private readonly tone: Tilt;
  private readonly parts: readonly Part[];

  constructor(values: SaturatorValues, sampleRate: number) {
    const factor = oversamplingFactor(values);
    const averaging = averagingOf(values);
    this.channels = [
      new OversampledChannel(0, factor, averaging, sampleRate),
      new OversampledChannel(1, factor, averaging, sampleRate),
    ];
    this.shaping = new WaveShaping(CURVES, factor, averaging !== 'none', sampleRate, shapingOf(values));
    this.blocker = new DirectBlocker(isUneven(values), DIRECT_HZ, sampleRate);
    this.tone = new Tilt(values.tone, sampleRate);
    this.parts = [this.shaping, this.blocker, this.tone];
  }

  set(values: SaturatorValues): void {
    this.shaping.set(shapingOf(values));
    this.blocker.set(isUneven(values));
    this.tone.set(values.tone);
  }

  control(): void {
    controlAll(this.parts);
  }

  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    this.channels[0].process(left, count, position, this.shaping);
    this.channels[1].process(right, count, position, this.shaping);
    this.blocker.process(left, right, count, position);
    this.tone.process(left, right, count, position);
  }

  reset(): void {
    resetAll(this.channels);
    resetAll(this.parts);
  }
}

/** Length of the filters, then the tail of the filters after the curve: longer by the gain that drive and tone give quiet sound. */
const tailOf = (values: SaturatorValues, sampleRate: number): number => {
  if (values.mix === 0) return 0;
  const raisedDb = raisedBy(values.drive, makeUpOf(values)) + Math.abs(values.tone);
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
  picture: transferPicture<typeof parameters>(
    (values, count) =>
      Array.from({ length: count }, (_, i) => {
        const x = (2 * i) / (count - 1) - 1;
        return [x, transferOf(values, x)] as const;
      }),
    (values) => [biasHandle(values.bias), driveHandle(values.drive, transferOf(values, DRIVE_AT))],
    transferOf,
  ),
  createKernel: (values, sampleRate) =>
    new DrivenEffect(new Saturation(values, sampleRate), latencyOf(values, sampleRate), values, sampleRate),
});
