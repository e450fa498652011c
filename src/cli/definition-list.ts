import { PATH_DEFINITIONS } from '../blend/ledger/path-definitions.ts';
import { DEFINITIONS } from '../measure/definitions/definitions.ts';
import { DETAIL_DEFINITIONS } from '../measure/definitions/detail-definitions.ts';
import type { FigureDefinition } from '../measure/definitions/figure-definition.ts';
import { PAIR_DEFINITIONS } from '../measure/definitions/pair-definitions.ts';
import { SERIES_DEFINITIONS } from '../measure/definitions/series-definitions.ts';

/** Every definition with the name that JSON and CSV have for the figure. */
interface NamedDefinition extends FigureDefinition {
  readonly name: string;
}

const GROUPS: readonly (readonly [heading: string, definitions: Readonly<Record<string, FigureDefinition>>])[] = [
  ['Figures', DEFINITIONS],
  ['Details', DETAIL_DEFINITIONS],
  ['Over time', SERIES_DEFINITIONS],
  ['Two sounds', PAIR_DEFINITIONS],
  ['Paths', PATH_DEFINITIONS],
];

const named = (definitions: Readonly<Record<string, FigureDefinition>>): NamedDefinition[] =>
  Object.entries(definitions).map(([name, definition]) => ({ name, ...definition }));

/** All definitions, group by group. */
export const allDefinitions = (): Record<string, NamedDefinition[]> =>
  Object.fromEntries(GROUPS.map(([heading, definitions]) => [heading, named(definitions)]));

/** The same as text. */
export const definitionsText = (): string =>
  GROUPS.map(([heading, definitions]) => `${heading}\n\n${named(definitions).map(entry).join('\n')}`).join('\n');

const entry = ({ name, label, unit, definition, source, range, nullWhen }: NamedDefinition): string =>
  [
    `${label}${unit ? `, ${unit}` : ''} (${name})`,
    `  ${definition}`,
    `  Source: ${source}. Range: ${range}. Does not exist: ${nullWhen}.`,
    '',
  ].join('\n');
