import type { OneDetails } from './definitions/detail-definitions.ts';
import type { BandFigures } from './figures.ts';
import type { Meter } from './meter.ts';
import type { Spectrum } from './spectrum.ts';
import { correlationOf, energyRatioDb } from './stereo/stereo.ts';
import { slidingSums, type TimeSeries } from './time-series.ts';

/** Figures that take more time than the rest, each as DETAIL_DEFINITIONS defines it. null: the figure does not exist. */
export interface Details extends OneDetails {
  readonly bandMonoLoss: readonly BandMonoLoss[];
}

/** Mono loss of one third octave. */
interface BandMonoLoss {
  readonly hz: number;
  readonly monoLossDb: number | null;
}

/** RMS below this is silence, dBFS; windows below the second value are left out of the lowest correlation. */
const SILENCE = -70;
const COUNTED = -60;

/** Half a second in sub-blocks of 10 ms. */
const HALF_SECOND = 50;

/** Details of the sound in a meter, from its series, spectrum and bands. */
export function detailsOf(
  meter: Meter,
  series: TimeSeries,
  spectrum: Spectrum,
  bands: readonly BandFigures[],
): Details {
  const power = meter.series().energy.map((energy) => (energy * 100) / (meter.sampleRate * meter.channels));
  const [first, last] = soundIn(power);
  const isSound = first >= 0;
  const onsets = meter.onsets();
  const peak = meter.truePeak();
  return {
    truePeakSeconds: peak.value > 0 ? Math.max(0, peak.frame / meter.sampleRate) : null,
    truePeakChannel: peak.value > 0 ? peak.channel + 1 : null,
    clippedRuns: meter.clippedRuns(),
    minPsrDb: lowest(series.psrDb),
    noiseFloorDbfs: isSound ? noiseFloorOf(power.subarray(first, last + 1)) : null,
    leadingSilenceSeconds: isSound ? first / 100 : null,
    trailingSilenceSeconds: isSound ? (power.length - 1 - last) / 100 : null,
    minCorrelation: lowest(series.correlation.map((value, n) => (series.rmsDbfs[n]! >= COUNTED ? value : Number.NaN))),
    lowsCorrelation: spectrum.lows ? correlationOf({ ...spectrum.lows, mid: 0, side: 0 }) : null,
    slopeDbPerOctave: slopeOf(bands),
    onsetStrength: onsets && onsets.sustained > 0 ? onsets.strength : null,
    onsetToSustainDb: onsets && energyRatioDb(onsets.onset, onsets.sustained),
    bandMonoLoss: bandMonoLossOf(bands),
  };
}

/** First and last sub-block above silence; -1 when there is none. */
function soundIn(power: Float64Array): [first: number, last: number] {
  const least = 10 ** (SILENCE / 10);
  return [power.findIndex((each) => each > least), power.findLastIndex((each) => each > least)];
}

function noiseFloorOf(power: Float64Array): number | null {
  const quietest = slidingSums(power, HALF_SECOND).reduce((least, sum) => Math.min(least, sum), Infinity);
  return quietest > 0 && Number.isFinite(quietest) ? 10 * Math.log10(quietest / HALF_SECOND) : null;
}

function lowest(values: Float64Array): number | null {
  const least = values.reduce((min, value) => (value < min ? value : min), Infinity);
  return Number.isFinite(least) ? least : null;
}

/** Range of the bands for the slope, Hz. */
const SLOPE_FROM = 99;
const SLOPE_TO = 10_001;

/**
 * Slope of the power density from 100 Hz to 10 kHz, dB per octave: the least-squares line through the third-octave
 * levels, less the 3.01 dB by which bands widen with every octave. null when a band there is empty, or missing.
 */
export function slopeOf(bands: readonly BandFigures[]): number | null {
  const inside = bands.filter(({ hz }) => hz > SLOPE_FROM && hz < SLOPE_TO);
  if (inside.length < 21 || inside.some(({ levelDb }) => levelDb === null)) return null;
  const octaves = inside.map(({ hz }) => Math.log2(hz));
  const middle = octaves.reduce((sum, octave) => sum + octave, 0) / octaves.length;
  let product = 0;
  let square = 0;
  inside.forEach(({ levelDb }, n) => {
    product += (octaves[n]! - middle) * levelDb!;
    square += (octaves[n]! - middle) ** 2;
  });
  return product / square - 10 * Math.log10(2);
}

/**
 * Mono loss of each band, dB, at most 0, relative to identical channels: the energy of mid over that of mid and side. 0
 * for identical channels, -3.01 for unrelated ones, null for a band without mid.
 */
function bandMonoLossOf(bands: readonly BandFigures[]): BandMonoLoss[] {
  return bands.map(({ hz, sideToMidDb }) => ({
    hz,
    monoLossDb: sideToMidDb === null ? null : -10 * Math.log10(1 + 10 ** (sideToMidDb / 10)),
  }));
}
