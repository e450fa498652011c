import { choice, decibels, hertz, milliseconds, quality, ratio, toggle } from '../core/parameter-builders.ts';
import { CONTROL_FRAMES, defineProcessor, type Kernel, type KeySignal } from '../core/processor.ts';
import { type DetectorSettings, LevelDetector } from '../dynamics/detector.ts';
import { FEED_BACK_SLOPE, GainReduction, type ReductionSettings } from '../dynamics/gain-reduction.ts';
import { followsKey, lookAhead, SIDE_CHAIN, sideChain, stereoLink } from '../dynamics/dynamics-parameters.ts';
import { gainOf } from '../../audio/decibels.ts';
import { compressionHandles } from '../dynamics/level-handles.ts';
import { levelPicture } from '../core/pictures.ts';
import { LoudnessMatch } from '../dynamics/loudness-match.ts';
import { LOW_CUT_OFF } from '../filters/cut-filters.ts';
import { lowCut } from '../filters/cut-parameters.ts';
import { OversampledDynamics } from '../dynamics/oversampled-dynamics.ts';
import { oversamplingLatency } from '../distortion/oversampling.ts';
import { Ramp } from '../core/ramp.ts';
import { reductionDb } from '../dynamics/gain-computer.ts';
import { ReductionHistory } from '../dynamics/reduction-history.ts';
import { StereoDelay } from '../core/delay-line.ts';
import type { Values } from '../core/parameter.ts';
import { wholeSamplesIn } from '../core/time.ts';

/** This ratio counts as infinite: the level is held at the threshold. */
const INFINITE_RATIO = 100;
const OVERSAMPLING = ['auto', 'off', '4x', '8x'] as const;
/**
 * Peaks followed with a shorter attack or release than these fold harmonics of the gain back at -67 dB or more (sines of 1 to
 * 10 kHz, 14 dB above the threshold, ratio 4); at 4x they stay below -77 dB.
 */
const FAST_ATTACK_MS = 1;
const FAST_RELEASE_MS = 20;
/** Steps a frame in which an oversampled gain is smoothed, in all. */
const STEPS_A_FRAME = 64;
const DETECTORS = ['peak', 'rms', 'smooth peak', 'decoupled peak'] as const;

const parameters = {
  threshold: decibels('Threshold', [-60, 0], { followsLevel: true, about: 'Level above which gain is reduced.' }),
  ratio: ratio('Ratio', [1, INFINITE_RATIO], {
    about: 'Input above the threshold per dB of output; 1:1 changes nothing, 100:1 limits.',
  }),
  knee: decibels('Knee', [0, 36], {
    default: 6,
    about: 'Width of the soft knee around the threshold; 0 dB is a hard knee.',
  }),
  attack: milliseconds('Attack', [0.01, 250], {
    default: 10,
    digits: 2,
    about: 'Time for 63 % of an increase in gain reduction (in dB).',
  }),
  release: milliseconds('Release', [5, 3000], {
    default: 120,
    about: 'Time for 63 % of a decrease in gain reduction (in dB).',
  }),
  autoRelease: toggle('Auto release', {
    about: 'Slows the release, up to ten times, the longer gain has been reduced; single peaks keep the set release.',
  }),
  hold: milliseconds('Hold', [0, 500], {
    about: 'Time for which the gain reduction is held after a peak before the release begins.',
  }),
  range: decibels('Range', [0, 60], { default: 60, about: 'Largest gain reduction.' }),
  makeUp: decibels('Make-up', [-24, 48], { about: 'Level change after the compression.' }),
  autoMakeUp: toggle('Running make-up', {
    about:
      'Matches the output to the integrated loudness of the input, measured since the start: it evens out loud and quiet sections. Make-up is added to it.',
  }),
  lookAhead,
  oversampling: choice('Oversampling', OVERSAMPLING, {
    about: `Works at a higher sample rate, so that gain that follows single waves does not alias; adds latency. Auto: 4x for the peak detector with an attack below ${FAST_ATTACK_MS} ms or a release below ${FAST_RELEASE_MS} ms; the others do not need it.`,
  }),
  link: stereoLink('How far each channel follows the one with more gain reduction'),
  mode: choice('Mode', ['left/right', 'mid/side'], {
    about: 'Works on left and right, or on mid and side; the stereo link sets how far the two follow each other.',
  }),
  topology: choice('Topology', ['feed-forward', 'feed-back'], {
    about:
      'Detector fed from the input (feed-forward) or the output (feedback): feedback is faster by the ratio, which ends at 20:1.',
  }),
  detector: choice('Detector', DETECTORS, {
    ...SIDE_CHAIN,
    default: 'decoupled peak',
    about:
      'Peak: each sample; reduces held notes less than the curve, the more so the slower the attack, and distorts low notes. RMS: average level (a sine reads 3 dB below its peak). Smooth peak: a smoothed line along the peaks, which lies below the crests of low notes (1.3 dB at 50 Hz with 10 ms, 0.2 dB at 1 kHz). Decoupled peak: holds peaks over half a period of 40 Hz, so that held notes are reduced by the curve; with feedback it works as peak.',
  }),
  rmsTime: milliseconds('RMS time', [1, 300], {
    ...SIDE_CHAIN,
    default: 10,
    about: 'Time constant of the rms average, or of the fall of a smooth peak; the other detectors do not use it.',
  }),
  lowCut: lowCut(
    'Low cut of the detector signal (12 dB/oct), so that low notes cause less gain reduction; off at 20 Hz.',
    500,
    SIDE_CHAIN,
  ),
  tilt: decibels('Tilt', [-12, 12], {
    ...SIDE_CHAIN,
    about: 'Tilts the detector signal around 1 kHz: positive values respond more to highs, negative ones to lows.',
  }),
  band: toggle('Band', {
    ...SIDE_CHAIN,
    about: 'Limits the detector signal to a band around the band frequency.',
  }),
  bandFrequency: hertz('Band frequency', [20, 16000], {
    ...SIDE_CHAIN,
    default: 3000,
    about: 'Centre of the detector band.',
  }),
  bandQ: quality('Band Q', [0.3, 10], {
    ...SIDE_CHAIN,
    default: 1,
    about: 'Width of the detector band: higher is narrower.',
  }),
  sideChain: sideChain('What the detector follows'),
};

export type CompressorValues = Values<typeof parameters>;

/** Times the rate at which it works. */
const factorOf = ({ oversampling, detector, attack, release }: CompressorValues): number => {
  const chosen = OVERSAMPLING[oversampling];
  if (chosen !== 'auto') return chosen === '8x' ? 8 : chosen === '4x' ? 4 : 1;
  const isFast = attack < FAST_ATTACK_MS || release < FAST_RELEASE_MS;
  return DETECTORS[detector] === 'peak' && isFast ? 4 : 1;
};

/** Look-ahead, frames. */
const lookAheadOf = (values: CompressorValues, sampleRate: number): number =>
  wholeSamplesIn(values.lookAhead, sampleRate);

/** Latency of the oversampling filters, frames. */
const filtersOf = (values: CompressorValues, sampleRate: number): number => {
  const factor = factorOf(values);
  return factor === 1 ? 0 : oversamplingLatency(factor, sampleRate);
};

const latency = (values: CompressorValues, sampleRate: number): number =>
  lookAheadOf(values, sampleRate) + filtersOf(values, sampleRate);

/** Feedback applies to the internal side-chain only: the key is not affected by the compressor. */
const feedsBack = (values: CompressorValues): boolean => values.topology === 1 && !followsKey(values);

const slopeOf = (values: CompressorValues): number => {
  const slope = values.ratio >= INFINITE_RATIO ? 1 : 1 - 1 / values.ratio;
  return feedsBack(values) ? Math.min(FEED_BACK_SLOPE, slope) : slope;
};

const detectorOf = (values: CompressorValues): DetectorSettings => ({
  kind: DETECTORS[values.detector]!,
  seconds: values.rmsTime / 1000,
  lowCutHz: values.lowCut > LOW_CUT_OFF ? values.lowCut : null,
  tiltDb: values.tilt,
  band: values.band === 1 ? { hz: values.bandFrequency, q: values.bandQ } : null,
  midSide: values.mode === 1,
});

/** True when both reduce the same sound equally. */
const soundsAlike = (a: CompressorValues, b: CompressorValues): boolean => {
  for (const id in a)
    if (id !== 'makeUp' && a[id as keyof CompressorValues] !== b[id as keyof CompressorValues]) return false;
  return true;
};

/** Output level for a steady input of `inDb`, dB, make-up included (automatic make-up not); -Infinity for silence. */
export const staticCurveDb = (values: CompressorValues, inDb: number): number => {
  const { threshold, knee, range, makeUp } = values;
  return inDb - Math.min(range, reductionDb(inDb - threshold, slopeOf(values), knee)) + makeUp;
};

const reductionOf = (values: CompressorValues): ReductionSettings => ({
  thresholdDb: values.threshold,
  slope: slopeOf(values),
  kneeDb: values.knee,
  rangeDb: values.range,
  link: values.link / 100,
  attackSeconds: values.attack / 1000,
  releaseSeconds: values.release / 1000,
  holdSeconds: values.hold / 1000,
  autoRelease: values.autoRelease === 1,
  feedBack: feedsBack(values),
  decoupled: DETECTORS[values.detector] === 'decoupled peak',
});

/**
 * Feed-forward: the detector reads the input at once, and the gain is applied after the look-ahead. Feedback: it reads the
 * output sample by sample, and the resulting gain is applied to the next one; a look-ahead then only delays. The static curve
 * is the same either way.
 *
 * Running make-up cannot know the sound to come: it matches the integrated loudness (BS.1770) of the sound
 * so far, see LoudnessMatch. One constant make-up that matches a section exactly needs a render.
 */
export class CompressorKernel implements Kernel<typeof parameters> {
  private readonly detector: LevelDetector;
  private readonly reduction: GainReduction;
  private readonly makeUp: Ramp;
  private readonly lookAhead: StereoDelay;
  private readonly loudness: LoudnessMatch;
  private listensToKey = false;
  private feedsBack = false;
  /** Linear gains of the current frames with feedback; otherwise they are in the detector. */
  private readonly gains = [new Float64Array(CONTROL_FRAMES), new Float64Array(CONTROL_FRAMES)] as const;
  /** Gains that follow from the last frame; with feedback they are applied to the next one. */
  private readonly last = new Float64Array(2).fill(1);
  /** One frame of output, for a fed-back detector. */
  private readonly frame = [new Float64Array(1), new Float64Array(1)] as const;
  /** Gain reduction over time, for drawing. */
  readonly history = new ReductionHistory();
  /** Frames of the control block already done. */
  private position = 0;

  /**
   * @param sampleRate rate of its input, oversampled or not
   * @param lookAhead frames between detection and the gain
   * @param divisions see GainReduction
   */
  constructor(
    private values: CompressorValues,
    sampleRate: number,
    lookAhead = lookAheadOf(values, sampleRate),
    divisions = 1,
  ) {
    this.detector = new LevelDetector(detectorOf(values), sampleRate);
    this.reduction = new GainReduction(reductionOf(values), this.detector, sampleRate, divisions);
    this.makeUp = new Ramp(gainOf(values.makeUp), sampleRate);
    this.lookAhead = new StereoDelay(lookAhead);
    this.loudness = new LoudnessMatch(values.autoMakeUp === 1, sampleRate);
  }

  /** Gain reduction at the end of the last frames processed, the larger of the two channels, dB, 0 or more. */
  get reductionDb(): number {
    return Math.max(this.reduction.left, this.reduction.right);
  }

  set(values: CompressorValues): void {
    this.loudness.set(values.autoMakeUp === 1, !soundsAlike(values, this.values));
    this.values = values;
    this.detector.set(detectorOf(values));
    this.reduction.set(reductionOf(values));
    this.makeUp.set(gainOf(values.makeUp));
  }

  control(): void {
    this.history.note(this.reductionDb);
    this.position = 0;
    this.listensToKey = followsKey(this.values);
    this.detector.control();
    if (this.listensToKey) this.reduction.back.reset();
    this.reduction.control();
    this.feedsBack = this.reduction.fedBack;
    this.makeUp.control();
    this.loudness.control();
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number, key: KeySignal | null): void {
    const { lookAhead, loudness } = this;
    if (!this.feedsBack) this.listen(left, right, start, end, key);
    if (lookAhead.samples > 0) lookAhead.process(left, right, left, right, start, end);
    loudness.hear(left, right, start, end);
    if (this.feedsBack) this.listenBack(left, right, start, end);
    if (loudness.idle) this.turn(left, right, start, end, this.makeUp.value, this.makeUp.step);
    else {
      this.turn(left, right, start, end, 1, 0);
      loudness.level(left, right, start, end, this.position);
      this.makeUp.scale(left, right, start, end, this.position);
    }
    this.position += end - start;
  }

  reset(): void {
    this.detector.reset();
    this.reduction.reset();
    this.makeUp.reset();
    this.lookAhead.reset();
    this.loudness.reset();
    this.history.reset();
    this.last.fill(1);
    this.position = 0;
  }

  /** Gains of the frames from the input or the key. */
  private listen(left: Float64Array, right: Float64Array, start: number, end: number, key: KeySignal | null): void {
    const { detector, last } = this;
    const frames = end - start;
    if (this.listensToKey) detector.process(key?.left ?? null, key?.right ?? null, start, end);
    else detector.process(left, right, start, end);
    this.reduction.process(frames);
    last[0] = detector.left[frames - 1]!;
    last[1] = detector.right[frames - 1]!;
  }

  /** Gains of the frames from the output, frame by frame. */
  private listenBack(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { detector, reduction, gains, last, frame, position } = this;
    const { value, step } = detector.midSide;
    const { value: back, step: backStep } = reduction.back;
    for (let i = start, k = 0; i < end; i++, k++) {
      const first = last[0]!;
      const second = last[1]!;
      gains[0][k] = first;
      gains[1][k] = second;
      const share = value + step * (position + k);
      const heard = back + backStep * (position + k);
      const both = (first + second) / 2;
      const cross = (heard * share * (first - second)) / 2;
      frame[0][0] = (1 + heard * (first + share * (both - first) - 1)) * left[i]! + cross * right[i]!;
      frame[1][0] = (1 + heard * (second + share * (both - second) - 1)) * right[i]! + cross * left[i]!;
      detector.process(frame[0], frame[1], 0, 1);
      reduction.process(1);
      last[0] = detector.left[0]!;
      last[1] = detector.right[0]!;
    }
  }

  /** Applies the gains, and a make-up that moves along a line. */
  private turn(
    left: Float64Array,
    right: Float64Array,
    start: number,
    end: number,
    makeUp: number,
    makeUpStep: number,
  ): void {
    const { position, detector } = this;
    const firstGains = this.feedsBack ? this.gains[0] : detector.left;
    const secondGains = this.feedsBack ? this.gains[1] : detector.right;
    const { value, step, settled } = detector.midSide;
    if (settled && value === 0) {
      for (let i = start, k = 0; i < end; i++, k++) {
        const raised = makeUp + makeUpStep * (position + k);
        left[i]! *= firstGains[k]! * raised;
        right[i]! *= secondGains[k]! * raised;
      }
      return;
    }
    for (let i = start, k = 0; i < end; i++, k++) {
      const first = firstGains[k]!;
      const second = secondGains[k]!;
      const raised = makeUp + makeUpStep * (position + k);
      // M = (L + R) / 2 times the first gain, S = (L - R) / 2 times the second: L = M + S, R = M - S.
      const share = value + step * (position + k);
      const both = (first + second) / 2;
      const cross = (share * (first - second)) / 2;
      const l = left[i]!;
      const r = right[i]!;
      left[i] = ((first + share * (both - first)) * l + cross * r) * raised;
      right[i] = ((second + share * (both - second)) * r + cross * l) * raised;
    }
  }
}

/** The compressor at the rate that its settings ask for. */
const kernelOf = (values: CompressorValues, sampleRate: number): Kernel<typeof parameters> => {
  const factor = factorOf(values);
  if (factor === 1) return new CompressorKernel(values, sampleRate);
  const lookAhead = lookAheadOf(values, sampleRate);
  const raised = new CompressorKernel(values, factor * sampleRate, factor * lookAhead, STEPS_A_FRAME / factor);
  return new OversampledDynamics(raised, factor, lookAhead, sampleRate);
};

/** Tail of the oversampling filters: as long as their latency, rounded to whole frames. */
const tailOf = (values: CompressorValues, sampleRate: number): number => {
  const filters = filtersOf(values, sampleRate);
  return filters === 0 ? 0 : filters + 8;
};

export const processor = defineProcessor({
  id: 'compressor',
  label: 'Compressor',
  about: 'Reduces level above a threshold, which narrows the dynamic range.',
  parameters,
  start: { threshold: -24, ratio: 4, attack: 10, release: 120, knee: 6 },
  latency,
  tail: tailOf,
  listensToKey: followsKey,
  picture: levelPicture<typeof parameters>(-60, staticCurveDb, (values) =>
    compressionHandles({ ...values, slope: slopeOf(values) }, (inDb) => staticCurveDb(values, inDb)),
  ),
  createKernel: kernelOf,
});
