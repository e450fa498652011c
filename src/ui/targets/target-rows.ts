import { DEFINITIONS, DETAIL_DEFINITIONS } from '../../measure/definitions.ts';

/** What a target can ask of a figure. */
export const RELATIONS = {
  is: 'is',
  least: 'at least',
  most: 'at most',
  max: 'as high as guards allow',
  min: 'as low as guards allow',
} as const;
export type Relation = keyof typeof RELATIONS;

/** One line of the form. */
export interface TargetRow {
  readonly figure: string;
  readonly relation: Relation;
  readonly value: number;
}

const shown = {
  integratedLufs: DEFINITIONS.integratedLufs,
  loudnessRangeLu: DEFINITIONS.loudnessRangeLu,
  crestDb: DEFINITIONS.crestDb,
  plrDb: DEFINITIONS.plrDb,
  truePeakDbtp: DEFINITIONS.truePeakDbtp,
  maxShortTermLufs: DEFINITIONS.maxShortTermLufs,
  maxMomentaryLufs: DEFINITIONS.maxMomentaryLufs,
  'stereo.sideToMidDb': DEFINITIONS['stereo.sideToMidDb'],
  'stereo.correlation': DEFINITIONS['stereo.correlation'],
  'stereo.monoLossLu': DEFINITIONS['stereo.monoLossLu'],
  'stereo.balanceDb': DEFINITIONS['stereo.balanceDb'],
  slopeDbPerOctave: DETAIL_DEFINITIONS.slopeDbPerOctave,
  lowsCorrelation: DETAIL_DEFINITIONS.lowsCorrelation,
} as const;

/** Figures that the form offers, by the name that targets call them. */
export const TARGET_FIGURES: readonly { readonly name: string; readonly label: string; readonly unit: string }[] =
  Object.entries(shown).map(([name, { label, unit }]) => ({ name, label, unit }));

export const unitOf = (figure: string): string => TARGET_FIGURES.find(({ name }) => name === figure)?.unit ?? '';

const SIGNS: Readonly<Record<'is' | 'least' | 'most', string>> = { is: '=', least: '>=', most: '<=' };

/** The row as the solver reads it. */
export const targetText = ({ figure, relation, value }: TargetRow): string =>
  relation === 'max' || relation === 'min' ? `${figure}=${relation}` : `${figure}${SIGNS[relation]}${value}`;
