import type { Figures } from '../../measure/figures.ts';
import type { BlendEssentials, BlendFigures } from './blend-figures.ts';

/**
 * Any blend of rendered paths, measured without rendering: equal to summing the paths and measuring the sum. Gains are
 * linear and signed, one a path, in the order in which the paths were given; 0 mutes.
 */
export interface BlendQuery {
  /** Ids of the paths, in the order of the gains. */
  readonly ids: readonly string[];
  readonly sampleRate: number;
  readonly frames: number;
  /** Integrated loudness, LRA, width and spectrum: the quickest of the three. */
  essentials(gains: readonly number[]): BlendEssentials;
  /** The same and the highest momentary and short-term loudness: about a millisecond. */
  figures(gains: readonly number[]): BlendFigures;
  /** All figures. Peaks and clipped samples are found by bounding every block and mixing only blocks that could contain them. */
  allFigures(gains: readonly number[]): Figures;
  /** dBTP; null for silence. */
  truePeakDbtp(gains: readonly number[]): number | null;
  /** Correlation of left and right below LOWS of spectrum.ts; null when either is silent there. */
  lowsCorrelation(gains: readonly number[]): number | null;
  /** Share of each path in the gated loudness, parts of 1 (`share.ts`). */
  shares(gains: readonly number[]): readonly (number | null)[];
}
