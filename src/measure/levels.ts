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
  /** Samples that stand in clipped runs, all channels together. */
  readonly clippedSamples: number;
}

/** Size that counts as full scale: the greatest positive value of 16 bits, so both signs and every word length count. */
export const FULL_SCALE = 32767 / 32768;

/**
 * Successive samples of one channel at or beyond full scale on one side of zero that make a clipped run. A single one
 * is what scaling to the peak leaves behind; common practice starts to suspect clipping at two or three.
 */
export const CLIPPED_RUN = 2;

/** Levels of `channels` (channels x frames, at least one frame). NaN or Infinity in gives NaN or Infinity out. */
export function levelsOf(channels: readonly Float32Array[]): Levels {
  let peak = 0;
  let squares = 0;
  let count = 0;
  let dcOffset = 0;
  let clippedSamples = 0;
  for (const samples of channels) {
    let sum = 0;
    for (let n = 0; n < samples.length; n++) {
      const x = samples[n]!;
      const size = x < 0 ? -x : x;
      if (size > peak) peak = size;
      sum += x;
      squares += x * x;
    }
    const mean = sum / samples.length;
    if (Math.abs(mean) > Math.abs(dcOffset)) dcOffset = mean;
    count += samples.length;
    clippedSamples += clippedIn(samples);
  }
  return { peak, meanSquare: squares / count, dcOffset, clippedSamples };
}

function clippedIn(samples: Float32Array): number {
  let clipped = 0;
  for (let n = 0; n < samples.length; n++) {
    const x = samples[n]!;
    if (x < FULL_SCALE && x > -FULL_SCALE) continue;
    const start = n;
    const side = x > 0 ? 1 : -1;
    while (n + 1 < samples.length && side * samples[n + 1]! >= FULL_SCALE) n++;
    const run = n + 1 - start;
    if (run >= CLIPPED_RUN) clipped += run;
  }
  return clipped;
}
