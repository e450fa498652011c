import { DEFINITIONS, SINGLE_FIGURES, type SingleKey } from './definitions.ts';
import { DETAIL_DEFINITIONS, type OneDetailKey, type OneDetails } from './detail-definitions.ts';
import type { FigureDefinition, FigurePlace } from './figure-definition.ts';
import { figureOf } from './figure-text.ts';
import type { Figures } from '../figures.ts';

/** Figures and details that are one number each, for tables, charts and the solver. */
export type ShownKey = SingleKey | OneDetailKey;

export interface ShownFigure extends FigureDefinition {
  readonly key: ShownKey;
}

const details = Object.keys(DETAIL_DEFINITIONS).filter((key): key is OneDetailKey => key !== 'bandMonoLoss');

/** All of them, in the order in which tables show them. */
export const SHOWN_FIGURES: readonly ShownFigure[] = [
  ...SINGLE_FIGURES.map((key) => ({ key, ...DEFINITIONS[key] })),
  ...details.map((key) => ({ key, ...DETAIL_DEFINITIONS[key] })),
];

/** Figures that are shown at one place. */
export const figuresAt = (place: FigurePlace): readonly ShownFigure[] =>
  SHOWN_FIGURES.filter(({ places }) => places?.includes(place));

export const isDetail = (key: ShownKey): key is OneDetailKey => key in DETAIL_DEFINITIONS;

/** Figures with none, some or all of their details, in a member of their own or beside the figures. */
export type WithDetails = Figures & Partial<OneDetails> & { readonly details?: Partial<OneDetails> };

/** The value of a figure; null where it does not exist, and for a detail of sound whose details are not measured. */
export const shownFigureOf = (figures: WithDetails, key: ShownKey): number | null =>
  isDetail(key) ? ((figures.details ?? figures)[key] ?? null) : figureOf(figures, key);
