import { DEFINITIONS, type FigureDefinition, type FigureKey } from '../../measure/definitions.ts';
import type { Figures, StereoFigures } from '../../measure/figures.ts';

type ShownKey = Exclude<FigureKey, `bands.${string}`>;

export interface FigureRow extends FigureDefinition {
  readonly key: ShownKey;
}

// The order in which the findings are read: level, density, then space.
const SHOWN: readonly ShownKey[] = [
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

/** Names that fit a narrow column; the full one stands above the definition. */
const SHORT: Partial<Readonly<Record<ShownKey, string>>> = {
  integratedLufs: 'Loudness',
  maxShortTermLufs: 'Loudest 3 s',
};

export const FIGURE_ROWS: readonly FigureRow[] = SHOWN.map((key) => ({ key, ...DEFINITIONS[key] }));

export const shortLabel = ({ key, label }: FigureRow): string => SHORT[key] ?? label;

/** The value of a figure; null where it does not exist. */
export const figureOf = (figures: Figures, key: ShownKey): number | null =>
  key.startsWith('stereo.')
    ? figures.stereo[key.slice('stereo.'.length) as keyof StereoFigures]
    : figures[key as Exclude<ShownKey, `stereo.${string}`>];
