/** One third-octave band of the long-term average spectrum (IEC 61260-1 base-10 mid frequencies). */
export interface BandFigures {
  /** Exact mid frequency, Hz. */
  readonly hz: number;
  /** Level of the band summed over channels, dB with rms 1.0 = 0 dB; null when the band holds nothing. */
  readonly levelDb: number | null;
  /** Side energy over mid energy in the band, dB; null for mono sound and for an empty band. */
  readonly sideToMidDb: number | null;
}

/** How the two channels relate. Every member is null for one-channel sound. */
export interface StereoFigures {
  /** -1..+1; null when a channel is silent. */
  readonly correlation: number | null;
  /** Side over mid energy, dB. */
  readonly sideToMidDb: number | null;
  /** Right over left energy, dB: positive leans right. */
  readonly balanceDb: number | null;
  /** K-weighted loss on folding to mono beyond what identical channels would lose, LU, at most 0. */
  readonly monoLossLu: number | null;
}

/** The figures of one piece of sound, named as the command line prints them. null: the figure does not exist. */
export interface Figures {
  readonly integratedLufs: number | null;
  readonly loudnessRangeLu: number | null;
  readonly maxMomentaryLufs: number | null;
  readonly maxShortTermLufs: number | null;
  readonly truePeakDbtp: number | null;
  readonly samplePeakDbfs: number | null;
  readonly rmsDbfs: number | null;
  readonly crestDb: number | null;
  readonly plrDb: number | null;
  readonly dcOffset: number | null;
  readonly clippedSamples: number;
  readonly stereo: StereoFigures;
  readonly bands: readonly BandFigures[];
}

/** Figures with, for each that is null, the reason in a few plain words, keyed by its name ("stereo.correlation"). */
export interface Measurement extends Figures {
  readonly reasons: Readonly<Record<string, string>>;
  /** What is to be kept in mind of figures that do exist, keyed alike. */
  readonly notes: Readonly<Record<string, string>>;
}

/** The figures of sound that has nothing to measure, or is all 0. `bands`: those that there would be. */
export const noFigures = (dcOffset: number | null, bands: readonly Pick<BandFigures, 'hz'>[]): Figures => ({
  integratedLufs: null,
  loudnessRangeLu: null,
  maxMomentaryLufs: null,
  maxShortTermLufs: null,
  truePeakDbtp: null,
  samplePeakDbfs: null,
  rmsDbfs: null,
  crestDb: null,
  plrDb: null,
  dcOffset,
  clippedSamples: 0,
  stereo: { correlation: null, sideToMidDb: null, balanceDb: null, monoLossLu: null },
  bands: bands.map(({ hz }) => ({ hz, levelDb: null, sideToMidDb: null })),
});
