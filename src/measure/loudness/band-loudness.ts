import { magnitudeDb, type Coefficients } from '../../dsp/filters/biquad.ts';
import type { BandFigures } from '../figures.ts';
import { kWeightingAt } from './k-weighting.ts';

/** Offset of ITU-R BS.1770-5, formula 2, dB. */
const OFFSET_DB = -0.691;

const RATE = 48_000;
/** Frequency above which K-weighting is flat, Hz. */
const FLAT_FROM = 20_000;
const { shelf, lowCut } = kWeightingAt(RATE);
const STAGES: readonly Coefficients[] = [shelf, lowCut].map(
  ({ b0, b1, b2, a1, a2 }) => new Float64Array([b0, b1, b2, a1, a2]),
);

/** Gain of K-weighting at a frequency, dB (ITU-R BS.1770-5, Annex 1, tables 1 and 2). */
const weightingDb = (hz: number): number => {
  const angle = (2 * Math.PI * Math.min(hz, FLAT_FROM)) / RATE;
  return STAGES.reduce((sum, stage) => sum + magnitudeDb(stage, angle), 0);
};

/**
 * Loudness without gates (ITU-R BS.1770, before its gates) of the third octaves of a long-term spectrum, LUFS, each weighted at its
 * mid frequency; null in silence. Bands and this loudness are means over the same time: in their difference the
 * length cancels. Gated loudness leaves out silence and bands do not, so with it a song of 9 s with a tail of 5 s would
 * seem to have lost 2 dB in all bands against the same song without it.
 */
export const bandLoudness = (bands: readonly Pick<BandFigures, 'hz' | 'levelDb'>[]): number | null => {
  const power = bands.reduce(
    (sum, { hz, levelDb }) => sum + (levelDb === null ? 0 : 10 ** ((levelDb + weightingDb(hz)) / 10)),
    0,
  );
  return power === 0 ? null : OFFSET_DB + 10 * Math.log10(power);
};
