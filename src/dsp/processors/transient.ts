import { CONTROL_FRAMES, defineProcessor, type Kernel } from '../core/processor.ts';
import { decibels, milliseconds } from '../core/parameter-builders.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { EnvelopeContrast } from '../dynamics/envelope-contrast.ts';
import { KEEP_LOUDNESS, LoudnessMatch, MOST_FILTERED_DB } from '../dynamics/loudness-match.ts';
import type { PictureHandle } from '../core/picture-handle.ts';
import { Ramp } from '../core/ramp.ts';
import { SlidingMaximum } from '../core/sliding-maximum.ts';
import { smoothingFactor } from '../dynamics/gain-computer.ts';
import { StereoDelay } from '../core/delay-line.ts';
import { stereoLink } from '../dynamics/dynamics-parameters.ts';
import type { Values } from '../core/parameter.ts';

/** Its level is the peak of this stretch, which holds at least half a wave of 40 Hz: steady sound has a steady level. */
const PEAK_SECONDS = 0.0125;
/** Time constant of the gain, seconds: it is never abrupt. */
const GAIN_SECONDS = 0.0005;
/** Look-ahead, seconds, in which the gain makes 95 % of its change before a hit. */
const LOOK_AHEAD_SECONDS = 0.0015;
/** A gain closer to its target than this, dB, lands on it. */
const LANDING = 1e-9;
/** Natural logarithm of the gain of 1 dB. */
const NEPERS = Math.LN10 / 20;

/** The picture shows a hit that dies away with this time constant, seconds, heard at this rate, Hz. */
const HIT_SECONDS = 0.1;
const HIT_RATE = 8000;
const PICTURE_SECONDS = 0.5;
/** Time of the sustain's handle, seconds. */
const SUSTAIN_AT = 0.25;
/** Least share of attack or sustain that a handle counts with, so that a drag moves its parameter by at most ten times the distance. */
const LEAST_SHARE = 0.1;

const parameters = {
  attack: decibels('Attack', [-24, 24], {
    about: 'Raises or lowers the attack of each hit; a hit after silence gets the full amount.',
  }),
  sustain: decibels('Sustain', [-24, 24], { about: 'Raises or lowers the decay after the attack.' }),
  speed: milliseconds('Speed', [2, 100], {
    default: 20,
    about: 'How long the start of a hit counts as its attack; the sustain is measured over ten times as long.',
  }),
  link: stereoLink('How far both channels get the same gain'),
  keepLoudness: KEEP_LOUDNESS,
};

type TransientValues = Values<typeof parameters>;

const latencyAt = (sampleRate: number): number => Math.round(LOOK_AHEAD_SECONDS * sampleRate);
const peakFrames = (sampleRate: number): number => Math.round(PEAK_SECONDS * sampleRate);

/** One channel: its level, and how much of it is attack and sustain. */
class Side {
  /** Levels, then how much of each is attack, 0..1. */
  readonly attack = new Float64Array(CONTROL_FRAMES);
  /** How much of each is sustain, 0..1. */
  readonly sustain = new Float64Array(CONTROL_FRAMES);
  /** Gain, dB. */
  gain = 0;
  readonly contrast: EnvelopeContrast;
  private readonly peak: SlidingMaximum;

  constructor(sampleRate: number) {
    this.peak = new SlidingMaximum(peakFrames(sampleRate));
    this.contrast = new EnvelopeContrast(sampleRate);
  }

  /** @param link part of the other channel's level that counts here */
  listen(own: Float64Array, other: Float64Array, start: number, frames: number, link: number): void {
    const { attack } = this;
    for (let k = 0; k < frames; k++)
      attack[k] = Math.max(Math.abs(own[start + k]!), link * Math.abs(other[start + k]!));
    this.peak.process(attack, frames);
    this.contrast.process(attack, this.sustain, frames);
  }

  reset(): void {
    this.gain = 0;
    this.peak.reset();
    this.contrast.reset();
  }
}

/**
 * Transient shaper: attack and sustain are told apart by two envelopes (EnvelopeContrast), each with its gain in dB.
 */
class TransientKernel implements Kernel<typeof parameters> {
  private readonly left: Side;
  private readonly right: Side;
  private readonly attack: Ramp;
  private readonly sustain: Ramp;
  private readonly lookAhead: StereoDelay;
  private readonly rate: number;
  private readonly loudness: LoudnessMatch;
  private link = 1;
  /** Frames of the control block already done. */
  private position = 0;

  constructor(
    private values: TransientValues,
    sampleRate: number,
  ) {
    this.left = new Side(sampleRate);
    this.right = new Side(sampleRate);
    this.attack = new Ramp(values.attack, sampleRate);
    this.sustain = new Ramp(values.sustain, sampleRate);
    this.lookAhead = new StereoDelay(latencyAt(sampleRate));
    this.rate = smoothingFactor(GAIN_SECONDS, sampleRate);
    this.loudness = new LoudnessMatch(values.keepLoudness === 1, sampleRate, MOST_FILTERED_DB);
  }

  set(values: TransientValues): void {
    this.values = values;
    this.attack.set(values.attack);
    this.sustain.set(values.sustain);
    this.loudness.set(values.keepLoudness === 1);
  }

  control(): void {
    const { speed, link } = this.values;
    this.position = 0;
    this.attack.control();
    this.sustain.control();
    this.loudness.control();
    this.left.contrast.set(speed / 1000);
    this.right.contrast.set(speed / 1000);
    this.link = link / 100;
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const frames = end - start;
    this.left.listen(left, right, start, frames, this.link);
    this.right.listen(right, left, start, frames, this.link);
    this.lookAhead.process(left, right, left, right, start, end);
    this.loudness.hear(left, right, start, end);
    this.shape(this.left, left, start, frames);
    this.shape(this.right, right, start, frames);
    this.loudness.level(left, right, start, end, this.position);
    this.position += frames;
  }

  reset(): void {
    this.left.reset();
    this.right.reset();
    this.attack.reset();
    this.sustain.reset();
    this.lookAhead.reset();
    this.loudness.reset();
    this.position = 0;
  }

  private shape(side: Side, samples: Float64Array, start: number, frames: number): void {
    const { rate, position } = this;
    const { attack: isAttack, sustain: isSustain } = side;
    const { value: attack, step: attackStep } = this.attack;
    const { value: sustain, step: sustainStep } = this.sustain;
    let gain = side.gain;
    for (let k = 0; k < frames; k++) {
      const moved = position + k;
      const wanted = (attack + attackStep * moved) * isAttack[k]! + (sustain + sustainStep * moved) * isSustain[k]!;
      const gap = wanted - gain;
      gain += Math.abs(gap) < LANDING ? gap : rate * gap;
      if (gain !== 0) samples[start + k]! *= Math.exp(NEPERS * gain);
    }
    side.gain = gain;
  }
}

/** A decaying hit, dB over seconds, with these settings; the gain's own smoothing is left out. */
const shapedHit = ({ attack, sustain, speed }: TransientValues): readonly (readonly [number, number])[] =>
  heardHit(speed).map(
    ({ db, isAttack, isSustain }, n) => [n / HIT_RATE, db + attack * isAttack + sustain * isSustain] as const,
  );

/** Level of that hit, dB, and the share of attack and sustain of each frame, 0 to 1. */
const heardHit = (speed: number): { readonly db: number; readonly isAttack: number; readonly isSustain: number }[] => {
  const frames = PICTURE_SECONDS * HIT_RATE;
  const level = Float64Array.from({ length: frames }, (_, n) => Math.exp(-n / (HIT_SECONDS * HIT_RATE)));
  const isAttack = level.slice();
  new SlidingMaximum(peakFrames(HIT_RATE)).process(isAttack, frames);
  const isSustain = new Float64Array(frames);
  const contrast = new EnvelopeContrast(HIT_RATE);
  contrast.set(speed / 1000);
  contrast.process(isAttack, isSustain, frames);
  return Array.from(level, (size, n) => ({
    db: decibelsOf(size),
    isAttack: isAttack[n]!,
    isSustain: isSustain[n]!,
  }));
};

/** Attack at the beginning of the hit, sustain where it has died away by half of what is drawn. */
const hitHandles = ({ attack, sustain, speed }: TransientValues): PictureHandle[] => {
  const hit = heardHit(speed);
  const first = hit[0]!;
  const late = hit[Math.round(SUSTAIN_AT * HIT_RATE)]!;
  const lateBase = late.db + attack * late.isAttack;
  return [
    {
      id: 'attack',
      label: 'Attack',
      x: 0,
      y: first.db + attack * first.isAttack + sustain * first.isSustain,
      up: {
        parameter: 'attack',
        at: (place) => (place - first.db - sustain * first.isSustain) / Math.max(LEAST_SHARE, first.isAttack),
      },
      wheel: 'speed',
    },
    {
      id: 'sustain',
      label: 'Sustain',
      x: SUSTAIN_AT,
      y: lateBase + sustain * late.isSustain,
      up: {
        parameter: 'sustain',
        at: (place) => (place - lateBase) / Math.max(LEAST_SHARE, late.isSustain),
      },
    },
  ];
};

export const processor = defineProcessor({
  id: 'transient',
  label: 'Transient shaper',
  about: 'Raises or lowers attack and sustain, equally for quiet and loud hits.',
  parameters,
  start: { attack: 6 },
  latency: (_values, sampleRate) => latencyAt(sampleRate),
  tail: () => 0,
  picture: {
    kind: 'time',
    x: [0, PICTURE_SECONDS],
    y: [-48, 24],
    drawn: 'line',
    points: (values, _sampleRate, count) => {
      const hit = shapedHit(values);
      return Array.from({ length: count }, (_, i) => hit[Math.floor((i * (hit.length - 1)) / Math.max(1, count - 1))]!);
    },
    handles: (values) => hitHandles(values),
  },
  createKernel: (values, sampleRate) => new TransientKernel(values, sampleRate),
});
