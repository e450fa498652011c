import {
  PEAK_FIGURES,
  PLAIN_FIGURES,
  STEREO_FIGURES,
  type PeakKey,
  type PlainFigures,
  type StereoKey,
} from './definitions/definitions.ts';

/** One third-octave band of the long-term average spectrum (IEC 61260-1 base-10 mid frequencies). */
export interface BandFigures {
  /** Exact mid frequency, Hz. */
  readonly hz: number;
  /** Level of the band summed over channels, dB with rms 1.0 = 0 dB; null when the band holds nothing. */
  readonly levelDb: number | null;
  /** Side energy over mid energy in the band, dB; null for mono sound and for an empty band. */
  readonly sideToMidDb: number | null;
}

/** How the two channels relate, each as DEFINITIONS defines it. Every member is null for one-channel sound. */
export type StereoFigures = Readonly<Record<StereoKey, number | null>>;

/** The figures of one piece of sound, named as the command line prints them. null: the figure does not exist. */
export interface Figures extends PlainFigures {
  readonly stereo: StereoFigures;
  readonly bands: readonly BandFigures[];
}

/** Figures with, for each that is null, the reason in a few plain words, keyed by its name ("stereo.correlation"). */
export interface Measurement extends Figures {
  readonly reasons: Readonly<Record<string, string>>;
  /** Remarks on figures that exist, keyed alike. */
  readonly notes: Readonly<Record<string, string>>;
}

export const noStereoFigures = (): StereoFigures =>
  Object.fromEntries(STEREO_FIGURES.map((key) => [key, null])) as StereoFigures;

/** The figures of silent or unmeasurable sound. `bands`: the bands at its sample rate. */
export const noFigures = (dcOffset: number | null, bands: readonly Pick<BandFigures, 'hz'>[]): Figures => ({
  ...(Object.fromEntries(PLAIN_FIGURES.map((key) => [key, null])) as unknown as PlainFigures),
  dcOffset,
  clippedSamples: 0,
  stereo: noStereoFigures(),
  bands: bands.map(({ hz }) => ({ hz, levelDb: null, sideToMidDb: null })),
});

/** Figures that follow from others: crest and peak to loudness, dB; null where a part does not exist. */
export const figuresOfPeaks = ({
  samplePeakDbfs,
  rmsDbfs,
  truePeakDbtp,
  integratedLufs,
}: Pick<Figures, 'samplePeakDbfs' | 'rmsDbfs' | 'truePeakDbtp' | 'integratedLufs'>): Pick<
  Figures,
  'crestDb' | 'plrDb'
> => ({
  crestDb: difference(rmsDbfs, samplePeakDbfs),
  plrDb: difference(integratedLufs, truePeakDbtp),
});

/** `after` less `before`; null where either does not exist. */
export const difference = (before: number | null, after: number | null): number | null =>
  before === null || after === null ? null : after - before;

/** The figures that depend on single samples. */
export const peakFiguresOf = (figures: Figures): Pick<Figures, PeakKey> =>
  Object.fromEntries(PEAK_FIGURES.map((key) => [key, figures[key]])) as unknown as Pick<Figures, PeakKey>;
