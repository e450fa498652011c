/**
 * Plain sample figures, full scale 1.0. rms is over all channels and frames together, and so crest is the greatest
 * sample of any channel over that: 3.01 dB for a sine in one channel or alike in all, 6.02 dB for one in one of two.
 */
export interface Levels {
  /** Greatest sample size, linear. */
  readonly peak: number;
  /** Mean square over all samples of all channels. */
  readonly meanSquare: number;
  /** Mean of the samples of the channel where it is greatest in size; signed. */
  readonly dcOffset: number;
  /** Samples in clipped runs, all channels together. */
  readonly clippedSamples: number;
}

/** Size that counts as full scale: the greatest positive value of 16 bits, so both signs and every word length count. */
export const FULL_SCALE = 32767 / 32768;

/**
 * Least number of successive samples of one channel, at or beyond full scale on one side of zero, that make a clipped run. A single one
 * also results from normalising to the peak; common practice starts to suspect clipping at two or three.
 */
export const CLIPPED_RUN = 2;
