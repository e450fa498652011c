import { figuresAt, shownFigureOf, type ShownKey, type WithDetails } from '../../measure/definitions/shown-figures.ts';

/** What is always in view. */
export const FIGURE_ROWS = figuresAt('findings');
/** What is there on demand. */
export const MORE_ROWS = figuresAt('more findings');

/** The change of a figure; null where either side has none. */
export const changeIn = (before: WithDetails | null, after: WithDetails | null, key: ShownKey): number | null => {
  const [first, last] = [before && shownFigureOf(before, key), after && shownFigureOf(after, key)];
  return first === null || last === null ? null : last - first;
};
