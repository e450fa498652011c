import { DETAIL_DEFINITIONS } from '../../measure/definitions/detail-definitions.ts';
import type { Figures, Measurement } from '../../measure/figures.ts';
import { isDetail, shownFigureOf, type ShownKey as Key } from '../../measure/definitions/shown-figures.ts';

const NOT_MEASURED = 'Not measured yet';

/** What follows from the other figures of the same sound, where no reason was kept. */
const derived = (key: Key, { rmsDbfs, stereo }: Figures): string => {
  if (rmsDbfs === null) return 'silent';
  if (isDetail(key)) return DETAIL_DEFINITIONS[key].nullWhen;
  if (key === 'stereo.balanceDb' || key === 'stereo.correlation') return 'one side is silent';
  if (key === 'stereo.sideToMidDb') return stereo.correlation === null ? 'no side or no mid' : 'no side: it is mono';
  return 'too quiet or too short for this figure';
};

/** Why there is no figure, in a few words; undefined where there is one. */
export const missingReason = (key: Key, figures: Figures | Measurement | null): string | undefined => {
  if (!figures) return NOT_MEASURED;
  if (shownFigureOf(figures, key) !== null) return undefined;
  const kept = 'reasons' in figures ? figures.reasons[key] : undefined;
  if (kept !== undefined) return kept;
  const isWithoutDetails = isDetail(key) && !('details' in figures);
  return isWithoutDetails ? 'Measured on the printed mix only' : derived(key, figures);
};

/** Why there is no change of a figure: it is wanting before, or after; undefined where both are there. */
export const missingChange = (
  key: Key,
  before: Figures | Measurement | null,
  after: Figures | Measurement | null,
  [beforeName, afterName]: readonly [before: string, after: string],
): string | undefined => {
  if (!before || !after) return NOT_MEASURED;
  const [first, last] = [missingReason(key, before), missingReason(key, after)];
  if (first !== undefined) return `${beforeName}: ${first}`;
  return last === undefined ? undefined : `${afterName}: ${last}`;
};
