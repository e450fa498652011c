import { CONTROL_FRAMES, defineProcessor, type Kernel, type KeySignal } from '../core/processor.ts';
import { decibels, milliseconds, ratio } from '../core/parameter-builders.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { ExpanderCurve, type ExpanderSettings, ExpanderSide, expansion } from '../dynamics/expander-curve.ts';
import { followsKey, lookAhead, SIDE_CHAIN, sideChain, stereoLink } from '../dynamics/dynamics-parameters.ts';
import { highCut, lowCut } from '../filters/cut-parameters.ts';
import { gateHandles } from '../dynamics/level-handles.ts';
import { levelPicture } from '../core/pictures.ts';
import { ReductionHistory } from '../dynamics/reduction-history.ts';
import { SideChainFilter } from '../filters/side-chain-filter.ts';
import { SlidingMaximum } from '../core/sliding-maximum.ts';
import { smoothingFactor } from '../dynamics/gain-computer.ts';
import { StereoDelay } from '../core/delay-line.ts';
import type { Values } from '../core/parameter.ts';
import { wholeSamplesIn } from '../core/time.ts';

/** Its level is the peak of this stretch, which holds at least half a wave of 40 Hz: steady sound has a steady level. */
const PEAK_SECONDS = 0.0125;
/** The picture begins here, dB. */
const PICTURE_FLOOR_DB = -80;
/** A gain closer to its target than this lands on it. */
const LANDING = 1e-9;

const parameters = {
  threshold: decibels('Threshold', [-80, 0], {
    default: -40,
    followsLevel: true,
    about: 'Peak level at which it opens.',
  }),
  ratio: ratio('Ratio', [1, 100], {
    about: 'Change of the output per dB of input below the threshold; 1:1 changes nothing, 100:1 is a gate.',
  }),
  range: decibels('Range', [0, 100], { default: 60, about: 'Largest gain reduction.' }),
  hysteresis: decibels('Hysteresis', [0, 24], {
    default: 4,
    about: 'Once open, it stays open until the level is this far below the threshold, so that it does not chatter.',
  }),
  attack: milliseconds('Attack', [0.01, 100], { default: 1, digits: 2, about: 'Time for 63 % of the opening.' }),
  hold: milliseconds('Hold', [0, 1000], { default: 40, about: 'How long it stays open after the level has fallen.' }),
  release: milliseconds('Release', [5, 3000], { default: 100, about: 'Time for 63 % of the closing.' }),
  lookAhead,
  link: stereoLink('How far each channel follows the one that is open further'),
  lowCut: lowCut('Low cut of the detector signal (12 dB/oct); off at 20 Hz.', 5000, SIDE_CHAIN),
  highCut: highCut('High cut of the detector signal (12 dB/oct); off at 20 kHz.', 100, SIDE_CHAIN),
  sideChain: sideChain('What opens it'),
};

type GateValues = Values<typeof parameters>;

const latency = (values: GateValues, sampleRate: number): number => wholeSamplesIn(values.lookAhead, sampleRate);

const settingsOf = (values: GateValues): ExpanderSettings => ({
  thresholdDb: values.threshold,
  hysteresisDb: values.hysteresis,
  slope: values.ratio - 1,
  rangeDb: values.range,
  holdSeconds: values.hold / 1000,
});

/** Output level for a steady peak level of `inDb` that rose from below, dB. */
export const staticCurveDb = ({ threshold, ratio, range }: GateValues, inDb: number): number =>
  inDb + expansion(threshold - inDb, ratio - 1, range);

/** Gate and downward expander: gains move toward their targets by one pole each way, in linear gain. */
export class GateKernel implements Kernel<typeof parameters> {
  private readonly filter: SideChainFilter;
  private readonly peaks: readonly [SlidingMaximum, SlidingMaximum];
  private readonly curve: ExpanderCurve;
  private readonly sides = [new ExpanderSide(), new ExpanderSide()] as const;
  private readonly lookAhead: StereoDelay;
  /** Side-chain, then levels, then gains. */
  private readonly left = new Float64Array(CONTROL_FRAMES);
  private readonly right = new Float64Array(CONTROL_FRAMES);
  private gainLeft = 1;
  private gainRight = 1;
  private attack = 1;
  private release = 1;
  private link = 1;
  private listensToKey = false;
  /** Gain reduction over time, for drawing. */
  readonly history = new ReductionHistory();
  /** Frames of the control block already done. */
  private position = 0;

  constructor(
    private values: GateValues,
    private readonly sampleRate: number,
  ) {
    const frames = Math.round(PEAK_SECONDS * sampleRate);
    this.filter = new SideChainFilter(values.lowCut, values.highCut, sampleRate);
    this.peaks = [new SlidingMaximum(frames), new SlidingMaximum(frames)];
    this.curve = new ExpanderCurve(settingsOf(values), sampleRate);
    this.lookAhead = new StereoDelay(latency(values, sampleRate));
    this.close();
  }

  /** Gain reduction at the end of the last frames processed, the larger of the two channels, dB, 0 or more. */
  get reductionDb(): number {
    return decibelsOf(1 / Math.min(this.gainLeft, this.gainRight));
  }

  set(values: GateValues): void {
    this.values = values;
    this.filter.set(values.lowCut, values.highCut);
    this.curve.set(settingsOf(values));
  }

  control(): void {
    const { values, sampleRate } = this;
    this.history.note(this.reductionDb);
    this.position = 0;
    this.filter.control();
    this.curve.control();
    this.attack = smoothingFactor(values.attack / 1000, sampleRate);
    this.release = smoothingFactor(values.release / 1000, sampleRate);
    this.link = values.link / 100;
    this.listensToKey = followsKey(values);
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number, key: KeySignal | null): void {
    const { left: gainsLeft, right: gainsRight, curve, position } = this;
    const frames = end - start;
    if (this.listensToKey) this.listen(key?.left ?? null, key?.right ?? null, start, frames);
    else this.listen(left, right, start, frames);
    this.sides[0].process(gainsLeft, frames, curve, position);
    this.sides[1].process(gainsRight, frames, curve, position);
    this.follow(frames);
    this.lookAhead.process(left, right, left, right, start, end);
    for (let k = 0; k < frames; k++) {
      left[start + k]! *= gainsLeft[k]!;
      right[start + k]! *= gainsRight[k]!;
    }
    this.position = position + frames;
  }

  reset(): void {
    this.filter.reset();
    this.curve.reset();
    for (const part of [...this.peaks, ...this.sides]) part.reset();
    this.lookAhead.reset();
    this.history.reset();
    this.position = 0;
    this.close();
  }

  /** Starts closed, as after silence. */
  private close(): void {
    this.gainLeft = this.gainRight = this.curve.rest;
  }

  private listen(
    sourceLeft: Float64Array | null,
    sourceRight: Float64Array | null,
    start: number,
    frames: number,
  ): void {
    const { left, right } = this;
    for (let k = 0; k < frames; k++) {
      left[k] = sourceLeft ? sourceLeft[start + k]! : 0;
      right[k] = sourceRight ? sourceRight[start + k]! : 0;
    }
    this.filter.process(left, right, frames);
    for (let k = 0; k < frames; k++) {
      left[k] = Math.abs(left[k]!);
      right[k] = Math.abs(right[k]!);
    }
    this.peaks[0].process(left, frames);
    this.peaks[1].process(right, frames);
  }

  /** From the targets of both sides to smooth gains. */
  private follow(frames: number): void {
    const { left, right, attack, release, link } = this;
    let { gainLeft, gainRight } = this;
    for (let k = 0; k < frames; k++) {
      const most = Math.max(left[k]!, right[k]!);
      const gapLeft = left[k]! + link * (most - left[k]!) - gainLeft;
      const gapRight = right[k]! + link * (most - right[k]!) - gainRight;
      gainLeft += Math.abs(gapLeft) < LANDING ? gapLeft : (gapLeft > 0 ? attack : release) * gapLeft;
      gainRight += Math.abs(gapRight) < LANDING ? gapRight : (gapRight > 0 ? attack : release) * gapRight;
      left[k] = gainLeft;
      right[k] = gainRight;
    }
    this.gainLeft = gainLeft;
    this.gainRight = gainRight;
  }
}

export const processor = defineProcessor({
  id: 'gate',
  label: 'Gate',
  about: 'Reduces level below a threshold: as an expander, or as a gate.',
  parameters,
  start: { threshold: -40, ratio: 4 },
  latency,
  tail: () => 0,
  listensToKey: followsKey,
  picture: levelPicture<typeof parameters>(PICTURE_FLOOR_DB, staticCurveDb, (values) =>
    gateHandles(values, PICTURE_FLOOR_DB),
  ),
  createKernel: (values, sampleRate) => new GateKernel(values, sampleRate),
});
