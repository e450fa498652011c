import { PLAIN_FIGURES, STEREO_FIGURES, type PlainFigures } from './definitions/definitions.ts';
import { difference, type BandFigures, type Figures, type StereoFigures } from './figures.ts';

/**
 * Difference between two measurements: figure by figure, after less before, in the unit of the figure. null where the
 * figure exists on one side only, or on neither. Bands: those that both have.
 */
export type FigureChange = Figures;

/** The change from `before` to `after`. */
export function changeOf(before: Figures, after: Figures): FigureChange {
  return {
    ...differences<PlainFigures>(PLAIN_FIGURES, before, after),
    stereo: differences<StereoFigures>(STEREO_FIGURES, before.stereo, after.stereo),
    bands: bandChanges(before.bands, after.bands),
  };
}

const differences = <T extends object>(keys: readonly (keyof T & string)[], before: T, after: T): T =>
  Object.fromEntries(
    keys.map((key) => [key, difference(before[key] as number | null, after[key] as number | null)]),
  ) as T;

function bandChanges(before: readonly BandFigures[], after: readonly BandFigures[]): BandFigures[] {
  const earlier = new Map(before.map((band) => [band.hz, band]));
  return after.flatMap(({ hz, levelDb, sideToMidDb }) => {
    const band = earlier.get(hz);
    if (!band) return [];
    return [{ hz, levelDb: difference(band.levelDb, levelDb), sideToMidDb: difference(band.sideToMidDb, sideToMidDb) }];
  });
}
