import { framesOf, type Audio } from '../../audio/audio.ts';
import type { FigureChange } from '../../measure/change.ts';
import type { Measurement } from '../../measure/figures.ts';
import { matchOf } from '../../measure/match.ts';
import { measure } from '../../measure/measure.ts';
import { longLagOf } from './long-lag.ts';
import { matchedChangeOf, matchGainOf } from './levelled.ts';

/** Two sounds laid over each other in time and level. */
export interface Comparison {
  /** Samples by which the second is late; null when the two share too little to say. */
  readonly lagSamples: number | null;
  /** The same with parts of a sample. */
  readonly exactLagSamples: number | null;
  /** Gain of the second against the first in what both share, dB. */
  readonly gainDb: number | null;
  readonly polarity: 1 | -1;
  /** What of the second is not the first so delayed and scaled, dB below the second. */
  readonly residualDb: number | null;
  /** Gain, dB, that brings the second to the integrated loudness of the first; null where one has none. */
  readonly matchGainDb: number | null;
  /** Frames that both have once they are aligned: `a` and `b` are measured over these. */
  readonly frames: number;
  readonly a: Measurement;
  readonly b: Measurement;
  /** The second less the first, the second brought to the loudness of the first. */
  readonly change: FigureChange;
}

const midOf = ({ channels }: Audio): Float32Array => {
  const [left, right] = channels as [Float32Array, Float32Array];
  return left.map((sample, n) => (sample + right[n]!) / 2);
};

const cut = ({ sampleRate, channels }: Audio, from: number, frames: number): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(from, from + frames)),
});

/** The part of each sound that the other has too, when the second is `lag` samples late. */
const common = (a: Audio, b: Audio, lag: number): readonly [Audio, Audio] => {
  const [fromA, fromB] = [Math.max(0, -lag), Math.max(0, lag)];
  const frames = Math.max(0, Math.min(framesOf(a) - fromA, framesOf(b) - fromB));
  return [cut(a, fromA, frames), cut(b, fromB, frames)];
};

/**
 * Lays the second stereo sound over the first, whatever its lag, gain and polarity, matches their loudness over what they
 * have in common, and measures what changed. Both of one sample rate.
 */
export const compareSounds = (first: Audio, second: Audio): Comparison => {
  const coarse = longLagOf(midOf(first), midOf(second), first.sampleRate);
  const [roughA, roughB] = common(first, second, coarse);
  const match = framesOf(roughA) > 0 ? matchOf(midOf(roughA), midOf(roughB)) : null;
  const lag = match ? coarse + match.lagSamples : null;
  const [alignedA, alignedB] = common(first, second, lag ?? 0);
  const [a, b] = [measure(alignedA), measure(alignedB)];
  return {
    lagSamples: lag,
    exactLagSamples: match ? coarse + match.exactLagSamples : null,
    gainDb: match?.gainDb ?? null,
    polarity: match?.polarity ?? 1,
    residualDb: match?.residualDb ?? null,
    matchGainDb: matchGainOf(a, b),
    frames: framesOf(alignedA),
    a,
    b,
    change: matchedChangeOf(a, b),
  };
};
