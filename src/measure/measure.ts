import { framesOf, secondsOf, type Audio } from '../dsp/audio.ts';
import { decibelsOf } from '../dsp/decibels.ts';
import { FIGURE_KEYS, type FigureKey } from './definitions.ts';
import type { BandFigures, Measurement, StereoFigures } from './figures.ts';
import { LOWEST_RATE } from './k-weighting.ts';
import { levelsOf } from './levels.ts';
import { channelWeights, loudnessOf } from './loudness.ts';
import { bandFiguresOf, spectrumOf } from './spectrum.ts';
import { correlationOf, energyRatioDb, monoLossOf, stereoSumsOf } from './stereo.ts';
import { thirdOctavesBelow } from './third-octaves.ts';
import { truePeakOf } from './true-peak.ts';
import { weightedEnergyOf, type WeightedEnergy } from './weighted-energy.ts';

/**
 * Every figure of `audio` (channels x frames), each as definitions.ts defines it. A figure that does not exist is null,
 * with its reason. Samples that are not finite (files refuse them) leave no figure; nothing throws.
 */
export function measure(audio: Audio): Measurement {
  if (framesOf(audio) === 0) return withoutFigures(audio, 'no samples', null);
  const { peak, meanSquare, dcOffset, clippedSamples } = levelsOf(audio.channels);
  if (!Number.isFinite(meanSquare)) return withoutFigures(audio, 'samples that are not numbers', null);
  if (peak === 0) return withoutFigures(audio, 'silence', 0);

  const reasons: Reasons = {};
  const energy = weightedEnergyIfDefined(audio);
  const loudness = loudnessFigures(audio, energy, reasons);
  const { integratedLufs } = loudness;
  const truePeakDbtp = decibelsOf(truePeakOf(audio.channels).value);
  const samplePeakDbfs = decibelsOf(peak);
  const rmsDbfs = 10 * Math.log10(meanSquare);
  if (integratedLufs === null) reasons.plrDb = reasons.integratedLufs!;
  return {
    ...loudness,
    truePeakDbtp,
    samplePeakDbfs,
    rmsDbfs,
    crestDb: samplePeakDbfs - rmsDbfs,
    plrDb: integratedLufs === null ? null : truePeakDbtp - integratedLufs,
    dcOffset,
    clippedSamples,
    stereo: stereoFigures(audio, energy, reasons),
    bands: bandFigures(audio, reasons),
    reasons,
  };
}

type Reasons = Partial<Record<FigureKey, string>>;

/** null where K-weighting or the channel weights are not defined. */
function weightedEnergyIfDefined(audio: Audio): WeightedEnergy | null {
  const defined = audio.sampleRate >= LOWEST_RATE && channelWeights(audio.channels.length) !== null;
  return defined ? weightedEnergyOf(audio) : null;
}

type LoudnessFigures = Pick<
  Measurement,
  'integratedLufs' | 'loudnessRangeLu' | 'maxMomentaryLufs' | 'maxShortTermLufs'
>;

function loudnessFigures(audio: Audio, energy: WeightedEnergy | null, reasons: Reasons): LoudnessFigures {
  const loudness = energy && loudnessOf(energy);
  const figure = (key: keyof LoudnessFigures, value: number | null | undefined, seconds: number): number | null => {
    if (typeof value === 'number') return value;
    if (!energy) reasons[key] = notWeighted(audio);
    else if (secondsOf(audio) < seconds) reasons[key] = `shorter than ${seconds} s`;
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

const notWeighted = ({ sampleRate }: Audio): string =>
  sampleRate < LOWEST_RATE ? `sample rate below ${LOWEST_RATE / 1000} kHz` : 'more than six channels';

function stereoFigures(audio: Audio, energy: WeightedEnergy | null, reasons: Reasons): StereoFigures {
  const [left, right] = audio.channels;
  if (!left || !right || audio.channels.length > 2) {
    const reason = right ? 'more than two channels' : 'one channel';
    for (const name of STEREO) reasons[`stereo.${name}`] = reason;
    return { correlation: null, sideToMidDb: null, balanceDb: null, monoLossLu: null };
  }
  const sums = stereoSumsOf(left, right);
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
      : figure('monoLossLu', null, notWeighted(audio)),
  };
}

const STEREO = ['correlation', 'sideToMidDb', 'balanceDb', 'monoLossLu'] as const;

function bandFigures(audio: Audio, reasons: Reasons): BandFigures[] {
  const bands = bandFiguresOf(spectrumOf(audio), audio.sampleRate);
  const { length } = audio.channels;
  if (bands.some(({ levelDb }) => levelDb === null)) reasons['bands.levelDb'] = 'nothing in the band';
  if (length === 1) reasons['bands.sideToMidDb'] = 'one channel';
  else if (length > 2) reasons['bands.sideToMidDb'] = 'more than two channels';
  else if (bands.some(({ sideToMidDb }) => sideToMidDb === null)) {
    reasons['bands.sideToMidDb'] = 'no side or no mid in the band';
  }
  return bands;
}

/** What there is to say of sound that has nothing to measure. */
function withoutFigures({ sampleRate }: Audio, reason: string, dcOffset: number | null): Measurement {
  const absent = FIGURE_KEYS.filter((key) => key !== 'clippedSamples' && (key !== 'dcOffset' || dcOffset === null));
  return {
    integratedLufs: null,
    loudnessRangeLu: null,
    maxMomentaryLufs: null,
    maxShortTermLufs: null,
    truePeakDbtp: null,
    samplePeakDbfs: null,
    rmsDbfs: null,
    crestDb: null,
    plrDb: null,
    dcOffset,
    clippedSamples: 0,
    stereo: { correlation: null, sideToMidDb: null, balanceDb: null, monoLossLu: null },
    bands: thirdOctavesBelow(sampleRate).map(({ hz }) => ({ hz, levelDb: null, sideToMidDb: null })),
    reasons: Object.fromEntries(absent.map((key) => [key, reason])),
  };
}
