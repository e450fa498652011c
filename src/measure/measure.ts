import { framesOf, stretchOf, type Sound } from '../audio/audio.ts';
import { decibelsOf } from '../audio/decibels.ts';
import { finished } from '../audio/steps.ts';
import { detailsOf, type Details } from './details.ts';
import { DEFINITIONS, FIGURE_KEYS, STEREO_FIGURES, type FigureKey } from './definitions/definitions.ts';
import {
  figuresOfPeaks,
  noFigures,
  noStereoFigures,
  type BandFigures,
  type Measurement,
  type StereoFigures,
} from './figures.ts';
import { LOWEST_RATE } from './loudness/k-weighting.ts';
import { loudnessOf } from './loudness/loudness.ts';
import { Meter } from './meter.ts';
import { bandFiguresOf, type Spectrum } from './spectrum.ts';
import { correlationOf, energyRatioDb, monoLossOf } from './stereo/stereo.ts';
import { timeSeriesOf, type TimeSeries } from './time-series.ts';
import { thirdOctavesBelow } from './third-octaves.ts';
import type { WeightedEnergy } from './loudness/weighted-energy.ts';

/**
 * Every figure of `audio` (channels x frames), each as definitions.ts defines it. A figure that does not exist is null,
 * with its reason. Samples that are not finite (files refuse them) leave no figure; nothing throws.
 */
export const measure = (audio: Sound): Measurement => finished(measureSteps(audio));

/** The same step by step; each step yields the part done, 0..1. */
export function* measureSteps(audio: Sound): Generator<number, Measurement> {
  const meter = new Meter(audio.sampleRate, audio.channels.length);
  yield* pushedSteps(meter, audio);
  return measurementOf(meter);
}

/** Pushes a whole sound into a meter. */
function* pushedSteps(meter: Meter, audio: Sound): Generator<number, void> {
  const frames = framesOf(audio);
  for (let from = 0; from < frames; from += PIECE) {
    const { channels } = stretchOf(audio, from, Math.min(frames, from + PIECE));
    meter.push(channels, 0, framesOf({ ...audio, channels }));
    yield from / frames;
  }
}

/** Frames that all meters process before the next ones: they stay in the processor’s cache. */
const PIECE = 8192;

/**
 * Every figure of the sound in a meter, as `measure`.
 * @param spectrum the meter's, or that of the same sound computed elsewhere
 * @throws RangeError when there is neither
 */
export function measurementOf(meter: Meter, spectrum?: Spectrum): Measurement {
  if (meter.frames === 0) return withoutFigures(meter, 'no samples', null);
  const { peak, meanSquare, dcOffset, clippedSamples } = meter.levels();
  if (!Number.isFinite(meanSquare)) return withoutFigures(meter, 'samples that are not numbers', null);
  if (peak === 0) return withoutFigures(meter, 'silence', 0);

  const reasons: Reasons = {};
  const energy = meter.weightedEnergy();
  const loudness = loudnessFigures(meter, energy, reasons);
  const { integratedLufs } = loudness;
  const truePeakDbtp = decibelsOf(meter.truePeak().value);
  const samplePeakDbfs = decibelsOf(peak);
  const rmsDbfs = 10 * Math.log10(meanSquare);
  if (integratedLufs === null) reasons.plrDb = reasons.integratedLufs!;
  return {
    ...loudness,
    truePeakDbtp,
    samplePeakDbfs,
    rmsDbfs,
    ...figuresOfPeaks({ samplePeakDbfs, rmsDbfs, truePeakDbtp, integratedLufs }),
    dcOffset,
    clippedSamples,
    stereo: stereoFigures(meter, energy, reasons),
    bands: meter.only ? bandsNotAskedFor(meter, reasons) : bandFigures(meter, spectrum ?? meter.spectrum(), reasons),
    reasons,
    notes: notesOn(meter, loudness.loudnessRangeLu, samplePeakDbfs),
  };
}

/** Seconds of sound below which a loudness range is no more than a first impression (EBU Tech 3342). */
const SETTLED = 60;

/** Samples above this, dBFS, are not audio: the file is damaged or misread. */
export const DAMAGED_DBFS = 40;

function notesOn(meter: Meter, loudnessRangeLu: number | null, samplePeakDbfs: number): Measurement['notes'] {
  const isShort = loudnessRangeLu !== null && meter.frames < SETTLED * meter.sampleRate;
  return {
    ...(isShort ? { loudnessRangeLu: 'unsettled: less than a minute' } : {}),
    ...(samplePeakDbfs > DAMAGED_DBFS ? { samplePeakDbfs: `probably damaged: beyond +${DAMAGED_DBFS} dBFS` } : {}),
  };
}

/** Figures, details and series of one sound. */
export interface FullMeasurement {
  readonly figures: Measurement;
  readonly details: Details;
  readonly series: TimeSeries;
}

/** Figures, details and series of the sound in a meter with details. @throws RangeError for a meter without */
export function fullMeasurementOf(meter: Meter, spectrum: Spectrum | null = meter.spectrum()): FullMeasurement {
  if (!spectrum) throw new RangeError('a meter without a spectrum needs one from elsewhere');
  const figures = measurementOf(meter, spectrum);
  const series = timeSeriesOf(meter);
  return { figures, series, details: detailsOf(meter, series, spectrum, figures.bands) };
}

/** As `measure`, with the details and the series of `audio` (channels x frames, at least one frame). */
export const measureFully = (audio: Sound): FullMeasurement => finished(measureFullySteps(audio));

/** The same step by step; each step yields the part done, 0..1. */
export function* measureFullySteps(audio: Sound): Generator<number, FullMeasurement> {
  const meter = new Meter(audio.sampleRate, audio.channels.length, { details: true });
  yield* pushedSteps(meter, audio);
  return fullMeasurementOf(meter);
}

type Reasons = Partial<Record<FigureKey, string>>;

type LoudnessFigures = Pick<
  Measurement,
  'integratedLufs' | 'loudnessRangeLu' | 'maxMomentaryLufs' | 'maxShortTermLufs'
>;

function loudnessFigures(meter: Meter, energy: WeightedEnergy | null, reasons: Reasons): LoudnessFigures {
  const loudness = energy && loudnessOf(energy);
  const figure = (key: keyof LoudnessFigures, value: number | null | undefined, seconds: number): number | null => {
    if (typeof value === 'number') return value;
    if (!energy) reasons[key] = notWeighted(meter);
    else if (meter.frames / meter.sampleRate < seconds) reasons[key] = `shorter than ${seconds} s`;
    else reasons[key] = 'nothing above -70 LUFS';
    return null;
  };
  return {
    integratedLufs: figure('integratedLufs', loudness?.integrated, 0.4),
    loudnessRangeLu: figure('loudnessRangeLu', loudness?.range, 3),
    maxMomentaryLufs: figure('maxMomentaryLufs', loudness?.maxMomentary, 0.4),
    maxShortTermLufs: figure('maxShortTermLufs', loudness?.maxShortTerm, 3),
  };
}

const notWeighted = ({ sampleRate }: Meter): string =>
  sampleRate < LOWEST_RATE ? `sample rate below ${LOWEST_RATE / 1000} kHz` : 'more than six channels';

function stereoFigures(meter: Meter, energy: WeightedEnergy | null, reasons: Reasons): StereoFigures {
  const sums = meter.stereo();
  if (!sums) {
    const reason = meter.only ? NOT_ASKED : meter.channels > 2 ? 'more than two channels' : 'one channel';
    for (const name of STEREO_FIGURES) reasons[`stereo.${name}`] = reason;
    return noStereoFigures();
  }
  const figure = (name: keyof StereoFigures, value: number | null, reason: string): number | null => {
    if (value === null) reasons[`stereo.${name}`] = reason;
    return value;
  };
  const silent = sums.left === 0 ? 'the left channel is silent' : 'the right channel is silent';
  const alike = sums.side === 0 ? 'left and right are identical' : 'left and right are opposite';
  return {
    correlation: figure('correlation', correlationOf(sums), silent),
    sideToMidDb: figure('sideToMidDb', energyRatioDb(sums.side, sums.mid), alike),
    balanceDb: figure('balanceDb', energyRatioDb(sums.right, sums.left), silent),
    monoLossLu: energy
      ? figure('monoLossLu', monoLossOf(energy), 'left and right cancel')
      : figure('monoLossLu', null, notWeighted(meter)),
  };
}

const NOT_ASKED = 'not asked for';

function bandsNotAskedFor({ sampleRate }: Meter, reasons: Reasons): BandFigures[] {
  reasons['bands.levelDb'] = reasons['bands.sideToMidDb'] = NOT_ASKED;
  return noBands(sampleRate);
}

const noBands = (sampleRate: number): BandFigures[] =>
  thirdOctavesBelow(sampleRate).map(({ hz }) => ({ hz, levelDb: null, sideToMidDb: null }));

function bandFigures(meter: Meter, spectrum: Spectrum | null, reasons: Reasons): BandFigures[] {
  if (!spectrum) throw new RangeError('a meter without a spectrum needs one from elsewhere');
  const bands = bandFiguresOf(spectrum, meter.sampleRate);
  const { channels } = meter;
  if (bands.some(({ levelDb }) => levelDb === null)) reasons['bands.levelDb'] = 'nothing in the band';
  if (channels === 1) reasons['bands.sideToMidDb'] = 'one channel';
  else if (channels > 2) reasons['bands.sideToMidDb'] = 'more than two channels';
  else if (bands.some(({ sideToMidDb }) => sideToMidDb === null)) {
    reasons['bands.sideToMidDb'] = 'no side or no mid in the band';
  }
  return bands;
}

/** The result for silent or unmeasurable sound. */
function withoutFigures({ sampleRate }: Meter, reason: string, dcOffset: number | null): Measurement {
  const absent = FIGURE_KEYS.filter(
    (key) => DEFINITIONS[key].nullWhen !== 'never' && (key !== 'dcOffset' || dcOffset === null),
  );
  return {
    ...noFigures(dcOffset, thirdOctavesBelow(sampleRate)),
    reasons: Object.fromEntries(absent.map((key) => [key, reason])),
    notes: {},
  };
}
