import type { Solved } from '../../engine/questions.ts';
import { figuresAt } from '../../measure/definitions/shown-figures.ts';

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

/** Figures that the form offers, by the name that targets call them. */
export const TARGET_FIGURES: readonly { readonly name: string; readonly label: string; readonly unit: string }[] =
  figuresAt('targets').map(({ key, label, unit }) => ({
    name: key,
    label,
    unit,
  }));

export const unitOf = (figure: string): string => TARGET_FIGURES.find(({ name }) => name === figure)?.unit ?? '';

const SIGNS: Readonly<Record<'is' | 'least' | 'most', string>> = { is: '=', least: '>=', most: '<=' };

/** The row as the solver reads it. */
export const targetText = ({ figure, relation, value }: TargetRow): string =>
  relation === 'max' || relation === 'min' ? `${figure}=${relation}` : `${figure}${SIGNS[relation]}${value}`;

/** Blends that an answer moves, by the id of the bus, dB. */
export const movedBlends = ({ solution }: Solved): ReadonlyMap<string, number> =>
  new Map(solution.moves.filter(({ movedDb }) => Math.abs(movedDb) >= 0.05).map(({ id, toDb }) => [id, toDb]));
