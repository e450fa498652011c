import { gainOf } from '../decibels.ts';
import { StereoDelay } from '../delay-line.ts';
import { type DetectorSettings, LevelDetector } from '../detector.ts';
import { reductionDb } from '../gain-computer.ts';
import { GainReduction, type ReductionSettings } from '../gain-reduction.ts';
import type { Values } from '../parameter.ts';
import { defineProcessor, type Kernel, type KeySignal } from '../processor.ts';
import { Ramp } from '../ramp.ts';

/** This ratio and no other stands for infinity: the level is held at the threshold. */
const INFINITE_RATIO = 100;
/** The low cut of the side-chain is off at its lowest setting, Hz. */
const LOW_CUT_OFF = 20;

const parameters = {
  threshold: {
    kind: 'number',
    label: 'Threshold',
    about: 'Level above which it turns down.',
    unit: 'dB',
    min: -60,
    max: 0,
    default: 0,
    scale: 'linear',
    digits: 1,
  },
  ratio: {
    kind: 'number',
    label: 'Ratio',
    about: 'How many dB above the threshold become one; 1 changes nothing, 100 holds the level at the threshold.',
    unit: ':1',
    min: 1,
    max: INFINITE_RATIO,
    default: 1,
    scale: 'logarithmic',
    digits: 1,
  },
  knee: {
    kind: 'number',
    label: 'Knee',
    about: 'Width of the gradual onset around the threshold; 0 is a corner.',
    unit: 'dB',
    min: 0,
    max: 36,
    default: 6,
    scale: 'linear',
    digits: 1,
  },
  attack: {
    kind: 'number',
    label: 'Attack',
    about: 'Time in which 63 % of a rise in gain reduction (in dB) has happened.',
    unit: 'ms',
    min: 0.01,
    max: 250,
    default: 10,
    scale: 'logarithmic',
    digits: 2,
  },
  release: {
    kind: 'number',
    label: 'Release',
    about: 'Time in which 63 % of a fall in gain reduction (in dB) has happened.',
    unit: 'ms',
    min: 5,
    max: 3000,
    default: 120,
    scale: 'logarithmic',
    digits: 0,
  },
  range: {
    kind: 'number',
    label: 'Range',
    about: 'The most that it may turn down.',
    unit: 'dB',
    min: 0,
    max: 60,
    default: 60,
    scale: 'linear',
    digits: 1,
  },
  makeUp: {
    kind: 'number',
    label: 'Make-up',
    about: 'Level change after the compression.',
    unit: 'dB',
    min: -24,
    max: 24,
    default: 0,
    scale: 'linear',
    digits: 1,
  },
  lookAhead: {
    kind: 'number',
    label: 'Look-ahead',
    about: 'How much sooner the detector hears the sound than the gain meets it; adds as much latency.',
    unit: 'ms',
    min: 0,
    max: 20,
    default: 0,
    scale: 'linear',
    digits: 1,
  },
  link: {
    kind: 'number',
    label: 'Stereo link',
    about: 'How far each channel follows the one that is turned down more; 100 % keeps the stereo picture still.',
    unit: '%',
    min: 0,
    max: 100,
    default: 100,
    scale: 'linear',
    digits: 0,
  },
  detector: {
    kind: 'choice',
    group: 'Side-chain',
    label: 'Detector',
    about: 'Follows the peaks, or the rms level: a sine then reads 3 dB below its peak.',
    choices: ['peak', 'rms'],
    default: 'peak',
  },
  rmsTime: {
    kind: 'number',
    group: 'Side-chain',
    label: 'RMS time',
    about: 'Time constant of the rms average; the peak detector does not use it.',
    unit: 'ms',
    min: 1,
    max: 300,
    default: 10,
    scale: 'logarithmic',
    digits: 0,
  },
  lowCut: {
    kind: 'number',
    group: 'Side-chain',
    label: 'Low cut',
    about: 'Keeps low notes from turning the sound down (12 dB/oct, heard by the detector only); off at 20 Hz.',
    unit: 'Hz',
    min: LOW_CUT_OFF,
    max: 500,
    default: LOW_CUT_OFF,
    scale: 'logarithmic',
    digits: 0,
  },
  listen: {
    kind: 'choice',
    group: 'Side-chain',
    label: 'Listens to',
    about: 'What steers it: its own input, or the key input (silent when nothing is connected).',
    choices: ['own', 'key'],
    default: 'own',
  },
} as const;

export type CompressorValues = Values<typeof parameters>;

const listensToKey = ({ listen }: CompressorValues): boolean => listen === 1;

const latency = ({ lookAhead }: CompressorValues, sampleRate: number): number =>
  Math.round((lookAhead / 1000) * sampleRate);

const slopeOf = (ratio: number): number => (ratio >= INFINITE_RATIO ? 1 : 1 - 1 / ratio);

const detectorOf = ({ detector, rmsTime, lowCut }: CompressorValues): DetectorSettings => ({
  kind: detector === 1 ? 'rms' : 'peak',
  rmsSeconds: rmsTime / 1000,
  lowCutHz: lowCut > LOW_CUT_OFF ? lowCut : null,
});

/** Level that a steady input of `inDb` leaves with, dB, make-up included; -Infinity for silence. */
export const staticCurveDb = ({ threshold, ratio, knee, range, makeUp }: CompressorValues, inDb: number): number =>
  inDb - Math.min(range, reductionDb(inDb - threshold, slopeOf(ratio), knee)) + makeUp;

const reductionOf = (values: CompressorValues): ReductionSettings => ({
  thresholdDb: values.threshold,
  slope: slopeOf(values.ratio),
  kneeDb: values.knee,
  rangeDb: values.range,
  link: values.link / 100,
  attackSeconds: values.attack / 1000,
  releaseSeconds: values.release / 1000,
});

/** Feed-forward compressor: the detector hears the input at once, the gain meets it after the look-ahead. */
export class CompressorKernel implements Kernel<typeof parameters> {
  private readonly detector: LevelDetector;
  private readonly reduction: GainReduction;
  private readonly makeUp: Ramp;
  private readonly lookAhead: StereoDelay;
  private listensToKey = false;
  /** Frames of the control block already done. */
  private position = 0;

  constructor(
    private values: CompressorValues,
    sampleRate: number,
  ) {
    this.detector = new LevelDetector(detectorOf(values), sampleRate);
    this.reduction = new GainReduction(reductionOf(values), this.detector, sampleRate);
    this.makeUp = new Ramp(gainOf(values.makeUp), sampleRate);
    this.lookAhead = new StereoDelay(latency(values, sampleRate));
  }

  /** Gain reduction at the end of the last frames processed, the larger of the two channels, dB, 0 or more. */
  get reductionDb(): number {
    return Math.max(this.reduction.left, this.reduction.right);
  }

  set(values: CompressorValues): void {
    this.values = values;
    this.detector.set(detectorOf(values));
    this.reduction.set(reductionOf(values));
    this.makeUp.set(gainOf(values.makeUp));
  }

  control(): void {
    this.position = 0;
    this.listensToKey = listensToKey(this.values);
    this.detector.control();
    this.reduction.control();
    this.makeUp.control();
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number, key: KeySignal | null): void {
    const frames = end - start;
    if (this.listensToKey) this.detector.process(key?.left ?? null, key?.right ?? null, start, end);
    else this.detector.process(left, right, start, end);
    this.reduction.process(frames);
    if (this.lookAhead.samples > 0) this.lookAhead.process(left, right, left, right, start, end);
    const { left: gainLeft, right: gainRight } = this.detector;
    const { value, step } = this.makeUp;
    for (let i = start, k = 0; i < end; i++, k++) {
      const makeUp = value + step * (this.position + k);
      left[i]! *= gainLeft[k]! * makeUp;
      right[i]! *= gainRight[k]! * makeUp;
    }
    this.position += frames;
  }

  reset(): void {
    this.detector.reset();
    this.reduction.reset();
    this.makeUp.reset();
    this.lookAhead.reset();
    this.position = 0;
  }
}

export const processor = defineProcessor({
  id: 'compressor',
  label: 'Compressor',
  about: 'Turns down what is louder than the threshold, so that soft and loud move closer together.',
  parameters,
  start: { threshold: -24, ratio: 4, attack: 10, release: 120, knee: 6 },
  latency,
  tail: () => 0,
  listensToKey,
  picture: {
    kind: 'level',
    x: [-60, 0],
    y: [-60, 0],
    drawn: 'line',
    points: (values, _sampleRate, count) =>
      Array.from({ length: count }, (_, index) => {
        const inDb = -60 + (60 * index) / Math.max(1, count - 1);
        return [inDb, staticCurveDb(values, inDb)] as const;
      }),
  },
  createKernel: (values, sampleRate) => new CompressorKernel(values, sampleRate),
});
