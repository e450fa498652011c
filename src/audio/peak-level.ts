import { framesOf, type Audio } from './audio.ts';
import { decibelsOf } from './decibels.ts';

/** The greatest magnitude of samples, linear; 0 of none. By index: an iterator takes ten times as long. */
export const samplePeakOf = (samples: Float32Array | Float64Array): number => {
  let peak = 0;
  for (let n = 0; n < samples.length; n++) peak = Math.max(peak, Math.abs(samples[n]!));
  return peak;
};

/** Length of a piece of which the peak is taken, seconds. */
const PIECE_SECONDS = 0.1;
/** Pieces this far below the greatest peak are pauses, dB. */
const PAUSE_DB = 40;
/** Share of the pieces that peak below the level. */
const SHARE = 0.95;

/**
 * The level that the peaks of a sound usually reach, dBFS: of the sample peaks of pieces of 100 ms, pauses left out (40 dB
 * below the greatest), the 95th percentile, so that a single click does not count. It moves dB by dB with the sound.
 * null: silence.
 */
export const peakLevelOf = (audio: Audio): number | null => {
  const length = Math.max(1, Math.round(PIECE_SECONDS * audio.sampleRate));
  const peaks = new Float64Array(Math.ceil(framesOf(audio) / length));
  for (const channel of audio.channels)
    for (let i = 0; i < channel.length; i++) {
      const piece = Math.floor(i / length);
      peaks[piece] = Math.max(peaks[piece]!, Math.abs(channel[i]!));
    }
  peaks.sort();
  const floor = (peaks.at(-1) ?? 0) * 10 ** (-PAUSE_DB / 20);
  const heard = peaks.filter((peak) => peak > 0 && peak >= floor);
  return heard.length === 0 ? null : decibelsOf(heard[Math.ceil(SHARE * heard.length) - 1]!);
};
