import type { BandFigures, Figures, StereoFigures } from './figures.ts';

/**
 * What changed between two measurements: figure by figure, after less before, in the unit of the figure. null where the
 * figure exists on one side only, or on neither. Bands: those that both have.
 */
export type FigureChange = Figures;

/** The change from `before` to `after`. */
export function changeOf(before: Figures, after: Figures): FigureChange {
  return {
    integratedLufs: difference(before.integratedLufs, after.integratedLufs),
    loudnessRangeLu: difference(before.loudnessRangeLu, after.loudnessRangeLu),
    maxMomentaryLufs: difference(before.maxMomentaryLufs, after.maxMomentaryLufs),
    maxShortTermLufs: difference(before.maxShortTermLufs, after.maxShortTermLufs),
    truePeakDbtp: difference(before.truePeakDbtp, after.truePeakDbtp),
    samplePeakDbfs: difference(before.samplePeakDbfs, after.samplePeakDbfs),
    rmsDbfs: difference(before.rmsDbfs, after.rmsDbfs),
    crestDb: difference(before.crestDb, after.crestDb),
    plrDb: difference(before.plrDb, after.plrDb),
    dcOffset: difference(before.dcOffset, after.dcOffset),
    clippedSamples: after.clippedSamples - before.clippedSamples,
    stereo: stereoChange(before.stereo, after.stereo),
    bands: bandChanges(before.bands, after.bands),
  };
}

const difference = (before: number | null, after: number | null): number | null =>
  before === null || after === null ? null : after - before;

function stereoChange(before: StereoFigures, after: StereoFigures): StereoFigures {
  return {
    correlation: difference(before.correlation, after.correlation),
    sideToMidDb: difference(before.sideToMidDb, after.sideToMidDb),
    balanceDb: difference(before.balanceDb, after.balanceDb),
    monoLossLu: difference(before.monoLossLu, after.monoLossLu),
  };
}

function bandChanges(before: readonly BandFigures[], after: readonly BandFigures[]): BandFigures[] {
  const earlier = new Map(before.map((band) => [band.hz, band]));
  return after.flatMap(({ hz, levelDb, sideToMidDb }) => {
    const band = earlier.get(hz);
    if (!band) return [];
    return [{ hz, levelDb: difference(band.levelDb, levelDb), sideToMidDb: difference(band.sideToMidDb, sideToMidDb) }];
  });
}
