import { gainOf } from '../../audio/decibels.ts';
import { changeOf, type FigureChange } from '../../measure/change.ts';
import type { Figures } from '../../measure/figures.ts';
import type { BlendQuery } from '../gram/blend-query.ts';

/** The mix after one more bus was brought up. */
export interface BringUpStep {
  /** The bus that was brought up; null at the beginning, with all of them pulled down. */
  readonly bus: string | null;
  /** Linear, in the order of the query. */
  readonly gains: readonly number[];
  readonly figures: Figures;
  /** Change from the step before. */
  readonly change: FigureChange | null;
}

/**
 * Lowers the buses in `order` by `downDb` (dB, positive; Infinity closes them) from their blends, then brings them
 * back to their blends, one at a time. Paths that are not named stay.
 * @throws RangeError for an id that is no path
 */
export const bringUp = (
  query: BlendQuery,
  gains: readonly number[],
  order: readonly string[],
  downDb: number,
): BringUpStep[] => {
  const places = order.map((id) => {
    const place = query.ids.indexOf(id);
    if (place < 0) throw new RangeError(`there is no path "${id}"`);
    return place;
  });
  const down = gainOf(-downDb);
  const start = gains.map((gain, place) => (places.includes(place) ? gain * down : gain));
  const steps: BringUpStep[] = [{ bus: null, gains: start, figures: query.allFigures(start), change: null }];
  places.forEach((place, n) => {
    const before = steps.at(-1)!;
    const raised = before.gains.with(place, gains[place]!);
    const figures = query.allFigures(raised);
    steps.push({ bus: order[n]!, gains: raised, figures, change: changeOf(before.figures, figures) });
  });
  return steps;
};
