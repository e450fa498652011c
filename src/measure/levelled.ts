import { gainOf } from '../audio/decibels.ts';
import { changeOf, type FigureChange } from './change.ts';
import type { BandFigures, Figures } from './figures.ts';

const raised = (value: number | null, db: number): number | null => (value === null ? null : value + db);

/** Bands of a sound after a gain, dB. */
export const levelledBands = (bands: readonly BandFigures[], db: number): readonly BandFigures[] =>
  db === 0 ? bands : bands.map((band) => ({ ...band, levelDb: raised(band.levelDb, db) }));

/** Figures of a sound after a gain, dB, without clipping; the count of clipped samples stays as measured. */
export const levelled = (figures: Figures, db: number): Figures =>
  db === 0
    ? figures
    : {
        ...figures,
        integratedLufs: raised(figures.integratedLufs, db),
        maxMomentaryLufs: raised(figures.maxMomentaryLufs, db),
        maxShortTermLufs: raised(figures.maxShortTermLufs, db),
        truePeakDbtp: raised(figures.truePeakDbtp, db),
        samplePeakDbfs: raised(figures.samplePeakDbfs, db),
        rmsDbfs: raised(figures.rmsDbfs, db),
        dcOffset: figures.dcOffset === null ? null : figures.dcOffset * gainOf(db),
        bands: levelledBands(figures.bands, db),
      };

/** Gain, dB, that brings the second sound to the integrated loudness of the first; null where one has none. */
export const matchGainOf = (
  { integratedLufs: first }: Pick<Figures, 'integratedLufs'>,
  { integratedLufs: second }: Pick<Figures, 'integratedLufs'>,
): number | null => (first === null || second === null ? null : first - second);

/** The change from `before` to `after` at equal loudness; without matching where one has no loudness. */
export const matchedChangeOf = (before: Figures, after: Figures): FigureChange =>
  changeOf(before, levelled(after, matchGainOf(before, after) ?? 0));
