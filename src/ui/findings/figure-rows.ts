import {
  DEFINITIONS,
  DETAIL_DEFINITIONS,
  type DetailKey,
  type FigureDefinition,
  type FigureKey,
} from '../../measure/definitions.ts';
import type { Figures, StereoFigures } from '../../measure/figures.ts';
import type { SideFindings } from '../engine/engine.ts';

type PlainKey = Exclude<FigureKey, `bands.${string}`>;
type OneDetail = Exclude<DetailKey, 'bandMonoLoss'>;
export type ShownKey = PlainKey | OneDetail;

export interface FigureRow extends FigureDefinition {
  readonly key: ShownKey;
}

// The order in which the findings are read: level, density, then space.
const SHOWN: readonly PlainKey[] = [
  'integratedLufs',
  'loudnessRangeLu',
  'maxShortTermLufs',
  'truePeakDbtp',
  'crestDb',
  'plrDb',
  'stereo.correlation',
  'stereo.sideToMidDb',
  'stereo.balanceDb',
  'stereo.monoLossLu',
];

const MORE: readonly ShownKey[] = [
  'maxMomentaryLufs',
  'minPsrDb',
  'rmsDbfs',
  'samplePeakDbfs',
  'onsetToSustainDb',
  'onsetStrength',
  'slopeDbPerOctave',
  'lowsCorrelation',
  'minCorrelation',
  'noiseFloorDbfs',
  'leadingSilenceSeconds',
  'trailingSilenceSeconds',
  'dcOffset',
  'clippedSamples',
];

/** Names that fit a narrow column; the full one stands above the definition. */
const SHORT: Partial<Readonly<Record<ShownKey, string>>> = {
  integratedLufs: 'Loudness',
  maxShortTermLufs: 'Loudest 3 s',
  maxMomentaryLufs: 'Loudest 0.4 s',
  minPsrDb: 'Lowest PSR',
  slopeDbPerOctave: 'Slope',
  lowsCorrelation: 'Lows corr.',
  minCorrelation: 'Lowest corr.',
  onsetToSustainDb: 'Onset',
  onsetStrength: 'Onset flux',
  leadingSilenceSeconds: 'Lead-in',
  trailingSilenceSeconds: 'Run-out',
  clippedSamples: 'Clipped',
};

const isDetail = (key: ShownKey): key is OneDetail => key in DETAIL_DEFINITIONS;
const rowOf = (key: ShownKey): FigureRow => ({ key, ...(isDetail(key) ? DETAIL_DEFINITIONS[key] : DEFINITIONS[key]) });

/** What is always in view. */
export const FIGURE_ROWS: readonly FigureRow[] = SHOWN.map(rowOf);
/** What is there on demand. */
export const MORE_ROWS: readonly FigureRow[] = MORE.map(rowOf);

export const shortLabel = ({ key, label }: FigureRow): string => SHORT[key] ?? label;

/** The value of a figure; null where it does not exist, and for a detail of sound whose details are not measured. */
export const figureOf = (figures: Figures | SideFindings, key: ShownKey): number | null => {
  if (isDetail(key)) return 'details' in figures ? figures.details[key] : null;
  return key.startsWith('stereo.')
    ? figures.stereo[key.slice('stereo.'.length) as keyof StereoFigures]
    : figures[key as Exclude<PlainKey, `stereo.${string}`>];
};

/** The change of a figure; null where either side has none. */
export const changeIn = (before: Figures | null, after: Figures | null, key: ShownKey): number | null => {
  const [first, last] = [before && figureOf(before, key), after && figureOf(after, key)];
  return first === null || last === null ? null : last - first;
};
